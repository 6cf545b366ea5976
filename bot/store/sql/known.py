"""Gathering what is known when an event arrives."""

from bot.model.conversation import Conversation
from bot.model.event import Arrival, Began, Fell
from bot.model.fact import Entry
from bot.model.group import GROUP_KEY
from bot.model.known import Case, Known
from bot.model.person import Address, Invite, Person
from bot.model.tub import Tub
from bot.store.sql import dues, house, journal, rounds, topics
from bot.store.sql.inbox import talk_of
from bot.store.sql.records import conversation_from
from bot.store.sql.unit import Unit

CONVERSATION = "SELECT * FROM conversations WHERE dealer = :dealer AND channel = :channel AND chat = :chat"
FELL_ABOUT = "SELECT tub FROM inbox WHERE dealer = :dealer AND channel = :channel AND update_id = :update_id"


def gather(db: Unit, arrival: Arrival) -> Known:
    """All that is known around an arrival's address."""
    dealer = arrival.dealer
    person = house.person_at(db, dealer, _who(arrival))
    person_key = person.key if person else None
    tub = _tub(db, arrival, person)
    tub_key = tub.key if tub else None
    invite = _invite(db, arrival)
    return Known(
        dealer=house.dealer_named(db, dealer),
        address=arrival.address,
        person=person,
        tub=tub,
        household=house.household(db, dealer, tub.key) if tub else (),
        staff=house.staff(db, dealer),
        group=house.person_named(db, dealer, GROUP_KEY),
        case_here=topics.case_at(db, arrival),
        cases=_cases(db, dealer) if arrival.group or (person is not None and person.role != "owner") else (),
        journal=journal.around(db, dealer, tub_key, person_key),
        mark=journal.mark(db, dealer, tub_key, person_key),
        dues=dues.open_dues(db, dealer, person_key, tub_key),
        rounds=rounds.shown(db, dealer) if person is not None and person.role == "dealer" else (),
        asked=rounds.asked(db, dealer, person.key, arrival.at) if person is not None and person.role == "owner" else (),
        conversation=conversation(db, arrival),
        invite=invite,
        invited_tub=house.tub_named(db, dealer, invite.tub) if invite else None,
        invited=house.person_named(db, dealer, invite.person) if invite and invite.person else None,
    )


def conversation(db: Unit, arrival: Arrival) -> Conversation:
    """What is open in the arrival's chat."""
    row = db.execute(CONVERSATION, talk_of(arrival)).fetchone()
    return conversation_from(row)


def _who(arrival: Arrival) -> Address:
    """Where whoever brought an arrival is reached alone."""
    if arrival.group is None:
        return arrival.address
    return Address(channel=arrival.address.channel, chat=arrival.group.by)


def _tub(db: Unit, arrival: Arrival, person: Person | None) -> Tub | None:
    if person is None:
        return None
    if isinstance(arrival.event, Fell):
        values = {"dealer": arrival.dealer, "channel": arrival.address.channel, "update_id": arrival.update}
        row = db.execute(FELL_ABOUT, values).fetchone()
        if row is not None and row["tub"] is not None:
            return house.tub_named(db, arrival.dealer, row["tub"])
    return house.newest_tub(db, arrival.dealer, person.key)


def _invite(db: Unit, arrival: Arrival) -> Invite | None:
    match arrival.event:
        case Began(invite=str(digest)):
            return house.invite_of(db, arrival.dealer, digest)
        case _:
            return None


def _cases(db: Unit, dealer: str) -> tuple[Case, ...]:
    return tuple(_case(db, dealer, number, entry) for number, entry in journal.open_cases(db, dealer))


def _case(db: Unit, dealer: str, number: int, entry: Entry) -> Case:
    return Case(
        entry=entry,
        owner=house.person_named(db, dealer, entry.person),
        tub=house.tub_named(db, dealer, entry.tub),
        journal=journal.around_case(db, dealer, entry.tub, number),
        mark=journal.mark(db, dealer, entry.tub, None),
    )

"""Gathering what is known when an event arrives."""

from collections.abc import Sequence

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


def gather(db: Unit, arrival: Arrival, wanted: str | None = None) -> Known:
    """All that is known around an arrival's address. `wanted`: about which of the person's tubs, where that is said."""
    dealer = arrival.dealer
    person = house.person_at(db, dealer, _who(arrival))
    person_key = person.key if person else None
    talk, invite = conversation(db, arrival), _invite(db, arrival)
    tubs = house.tubs_of(db, dealer, person.key) if person else ()
    invited_tub = house.tub_named(db, dealer, invite.tub) if invite else None
    if invited_tub is not None and _lets_in(invite, person, arrival):
        tub: Tub | None = invited_tub
    else:
        tub = _tub(db, arrival, tubs, wanted or _talked_about(db, arrival, talk, person_key, tubs))
    tub_key = tub.key if tub else None
    household = house.household(db, dealer, tub.key) if tub else ()
    return Known(
        dealer=house.dealer_named(db, dealer),
        address=arrival.address,
        person=person,
        tub=tub,
        tubs=tubs,
        household=household,
        of_several=frozenset(house.of_several(db, dealer, tub.key)) if tub else frozenset(),
        staff=house.staff(db, dealer),
        group=house.person_named(db, dealer, GROUP_KEY),
        case_here=topics.case_at(db, arrival),
        cases=_cases(db, dealer) if arrival.group or (person is not None and person.role != "owner") else (),
        journal=journal.around(db, dealer, tub_key, person_key),
        mark=journal.mark(db, dealer, tub_key, person_key),
        dues=dues.open_dues(db, dealer, person_key, tub_key),
        rounds=rounds.shown(db, dealer) if person is not None and person.role == "dealer" else (),
        asked=rounds.asked(db, dealer, person.key, arrival.at) if person is not None and person.role == "owner" else (),
        conversation=talk,
        invite=invite,
        invited_tub=invited_tub,
        invited_household=house.household(db, dealer, invite.tub) if invite and invite.tub else (),
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


def _talked_about(db: Unit, arrival: Arrival, talk: Conversation, person: str | None, tubs: Sequence[Tub]) -> str:
    """The tub of what is open; else the one that was chosen of late, that of a case that is open, or that was chosen
    once.
    """
    if talk.flows and (opened := talk.flows[-1].tub):
        return opened.key
    if len(tubs) > 1 and not talk.meant(arrival.at):
        rows = db.execute(journal.TUB_OF_CASE, {"dealer": arrival.dealer, "person": person}).fetchall()
        return next((row["tub"] for row in rows), talk.tub)
    return talk.tub


def _lets_in(invite: Invite | None, person: Person | None, arrival: Arrival) -> bool:
    """Whether an owner may come onto one more tub by this invite."""
    if invite is None or person is None or (invite.role, person.role) != ("owner", "owner"):
        return False
    return not invite.used_by and invite.expires > arrival.at and invite.person in (None, person.key)


def _tub(db: Unit, arrival: Arrival, tubs: Sequence[Tub], key: str) -> Tub | None:
    if isinstance(arrival.event, Fell) and tubs:
        values = {"dealer": arrival.dealer, "channel": arrival.address.channel, "update_id": arrival.update}
        row = db.execute(FELL_ABOUT, values).fetchone()
        if row is not None and row["tub"] is not None:
            return next((tub for tub in tubs if tub.key == row["tub"]), None)
    return next((tub for tub in tubs if tub.key == key), tubs[0] if tubs else None)


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
        household=house.household(db, dealer, entry.tub) if entry.tub else (),
        of_several=frozenset(house.of_several(db, dealer, entry.tub)) if entry.tub else frozenset(),
        journal=journal.around_case(db, dealer, entry.tub, number),
        mark=journal.mark(db, dealer, entry.tub, None),
    )

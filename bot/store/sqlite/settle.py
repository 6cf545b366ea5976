"""Settling an arrival: all that one event changes, or nothing of it."""

from sqlite_utils import Database

from bot.model.conversation import Conversation
from bot.model.event import Arrival, Blocked, Fell
from bot.model.known import Known, Outcome
from bot.model.message import Message
from bot.model.person import Address
from bot.store.contract import Conflict, Contradiction, Taken
from bot.store.sqlite import dues, erasure, house, inbox, journal, outbox
from bot.store.sqlite.known import conversation
from bot.store.sqlite.records import conversation_json

PUT_CONVERSATION = """
INSERT INTO conversations (dealer, channel, chat, version, body)
VALUES (:dealer, :channel, :chat, :version, :body)
ON CONFLICT (dealer, channel, chat) DO UPDATE SET version = excluded.version, body = excluded.body
"""


def settle(db: Database, taken: Taken, known: Known, outcome: Outcome, now: int, dead: str | None) -> None:
    """Write an outcome, inside one transaction that the caller holds."""
    arrival = taken.arrival
    dealer = arrival.dealer
    inbox.finish(db, taken, now, "done" if dead is None else "dead", dead)
    _check_unchanged(db, arrival, known, outcome)
    _reopen(db, arrival, known)
    house.put(db, dealer, outcome.people, outcome.tubs, outcome.links)
    _use_invite(db, dealer, outcome)
    journal.append(db, outcome.entries)
    dues.change(db, dealer, outcome.set_dues, outcome.cancel_dues)
    if outcome.conversation is not None:
        _put_conversation(db, arrival, outcome.conversation, known.conversation.version + 1)
    for key in outcome.erase:
        erasure.erase(db, dealer, key, now)
    for message in outcome.messages:
        _post(db, arrival, message, now)


def _check_unchanged(db: Database, arrival: Arrival, known: Known, outcome: Outcome) -> None:
    dealer = arrival.dealer
    if conversation(db, arrival).version != known.conversation.version:
        raise Conflict("the conversation has moved on")
    tub = known.tub.key if known.tub else None
    person = known.person.key if known.person else None
    if journal.mark(db, dealer, tub, person) != known.mark:
        raise Conflict("the journal has moved on")
    written = {entry.tub for entry in outcome.entries}
    for case in known.cases:
        if case.tub and case.tub.key in written and journal.mark(db, dealer, case.tub.key, None) != case.mark:
            raise Conflict("the journal of a case's tub has moved on")
    seen = {somebody.key: somebody for somebody in (*known.staff, *known.household)}
    for somebody in (known.person, known.group):
        if somebody:
            seen[somebody.key] = somebody
    for changed in outcome.people:
        if changed.key in seen and house.person_named(db, dealer, changed.key) != seen[changed.key]:
            raise Conflict("a person has changed")


def _reopen(db: Database, arrival: Arrival, known: Known) -> None:
    """Who writes can be written to, whatever the last message met."""
    if known.person is not None and arrival.group is None and not isinstance(arrival.event, Fell | Blocked):
        db.execute(house.REOPEN, {"dealer": arrival.dealer, "key": known.person.key})


def _use_invite(db: Database, dealer: str, outcome: Outcome) -> None:
    if outcome.used_invite is not None and not house.use_invite(db, dealer, *outcome.used_invite):
        raise Conflict("the invite was used meanwhile")


def _put_conversation(db: Database, arrival: Arrival, new: Conversation, version: int) -> None:
    values = {**inbox.talk_of(arrival), "version": version, "body": conversation_json(new)}
    db.execute(PUT_CONVERSATION, values)


def _post(db: Database, arrival: Arrival, message: Message, now: int) -> None:
    """Put a message in the outbox, or nowhere where its person cannot be reached."""
    address = _where(db, arrival, message)
    if address is not None:
        outbox.append(db, arrival.dealer, address, message, now)


def _where(db: Database, arrival: Arrival, message: Message) -> Address | None:
    if not message.to:
        return message.address or arrival.address
    person = house.person_named(db, arrival.dealer, message.to)
    if person is None:
        raise Contradiction(f"a message goes to {message.to!r}, and nobody has that key")
    if message.address is not None and message.address != person.address:
        return message.address
    return None if person.standing in {"blocked", "erased"} else person.address

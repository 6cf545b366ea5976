"""Settling an arrival: all that one event changes, or nothing of it."""

from bot.model.conversation import Conversation
from bot.model.event import Arrival, Blocked, Fell
from bot.model.known import Known, Outcome
from bot.model.message import Message
from bot.model.person import Address
from bot.store.contract import Conflict, Contradiction, Taken
from bot.store.sql import dues, erasure, errands, house, inbox, journal, outbox, rounds, succession, withdrawal
from bot.store.sql.known import conversation
from bot.store.sql.records import conversation_json
from bot.store.sql.unit import Unit

PUT_CONVERSATION = """
INSERT INTO conversations (dealer, channel, chat, version, body)
VALUES (:dealer, :channel, :chat, :version, :body)
ON CONFLICT (dealer, channel, chat) DO UPDATE SET version = excluded.version, body = excluded.body
"""


def settle(db: Unit, taken: Taken, known: Known, outcome: Outcome, now: int, dead: str | None) -> None:
    """Write an outcome, inside one transaction that the caller holds."""
    arrival = taken.arrival
    dealer = arrival.dealer
    _lock(db, arrival, known, outcome)
    inbox.finish(db, taken, now, "done" if dead is None else "dead", dead)
    _check_unchanged(db, arrival, known, outcome)
    _reopen(db, arrival, known)
    house.put(db, dealer, outcome.people, outcome.tubs, outcome.links)
    house.unlink(db, dealer, outcome.unlinks)
    _use_invite(db, dealer, outcome)
    journal.append(db, outcome.entries)
    dues.change(db, dealer, outcome.set_dues, outcome.cancel_dues)
    errands.ask_for(db, outcome.errands)
    if outcome.conversation is not None:
        _put_conversation(db, arrival, outcome.conversation, known.conversation.version + 1)
    for new in outcome.rounds:
        rounds.put(db, new)
    for key, order in outcome.round_orders:
        rounds.order(db, dealer, key, order, now)
    for changed in outcome.people:
        if changed.standing == "stopped":
            withdrawal.leave_out(db, dealer, changed.key, "stopped", now)
    if outcome.handing is not None:
        succession.hand_on(db, dealer, outcome.handing)
    for key in outcome.erase:
        erasure.erase(db, dealer, key, now)
    letters = [(message, _where(db, arrival, message)) for message in outcome.messages]
    db.lock("outbox", [(dealer, to.channel, to.chat) for _, to in letters if to is not None])
    for message, to in letters:
        if to is not None:
            outbox.append(db, dealer, to, message, now)


def _lock(db: Unit, arrival: Arrival, known: Known, outcome: Outcome) -> None:
    """What was known stays as it is, from checking that it still holds until what follows from it is written."""
    erased = [person.address for person in known.household + known.staff if person.key in outcome.erase]
    chats = [inbox.chat_named(arrival), *((arrival.dealer, to.channel, to.chat) for to in erased if to is not None)]
    db.lock("inbox", chats)
    people = {person.key for person in outcome.people} | ({known.person.key} if known.person else set())
    tubs = {known.tub.key if known.tub else None}
    mine = [*((arrival.dealer, "person", key) for key in people), *((arrival.dealer, "tub", key) for key in tubs)]
    db.lock("books", [*mine, *journal.books_of(outcome.entries)])


def _check_unchanged(db: Unit, arrival: Arrival, known: Known, outcome: Outcome) -> None:
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
    for somebody in (known.person, known.group, known.invited):
        if somebody:
            seen[somebody.key] = somebody
    for changed in outcome.people:
        if changed.key in seen and house.person_named(db, dealer, changed.key) != seen[changed.key]:
            raise Conflict("a person has changed")


def _reopen(db: Unit, arrival: Arrival, known: Known) -> None:
    """Who writes can be written to, whatever the last message met."""
    if known.person is not None and arrival.group is None and not isinstance(arrival.event, Fell | Blocked):
        db.execute(house.REOPEN, {"dealer": arrival.dealer, "key": known.person.key})


def _use_invite(db: Unit, dealer: str, outcome: Outcome) -> None:
    if outcome.used_invite is not None and not house.use_invite(db, dealer, *outcome.used_invite):
        raise Conflict("the invite was used meanwhile")


def _put_conversation(db: Unit, arrival: Arrival, new: Conversation, version: int) -> None:
    values = {**inbox.talk_of(arrival), "version": version, "body": conversation_json(new)}
    db.execute(PUT_CONVERSATION, values)


def _where(db: Unit, arrival: Arrival, message: Message) -> Address | None:
    """Where a message goes; None where its person cannot be reached."""
    if not message.to:
        return message.address or arrival.address
    person = house.person_named(db, arrival.dealer, message.to)
    if person is None:
        raise Contradiction(f"a message goes to {message.to!r}, and nobody has that key")
    if message.address is not None and message.address != person.address:
        return message.address
    return None if person.standing in {"blocked", "erased"} else person.address

"""The inbox: arrivals wait in their chat's order; only the oldest of a chat may be taken."""

import logging

from bot.model.event import Answered, Arrival, Began, Event, Sent, Tapped, Wrote
from bot.store.contract import Lost, Taken
from bot.store.sql.records import arrival_from, arrival_row
from bot.store.sql.unit import Unit, Values

log = logging.getLogger(__name__)

MOST_WAITING = 50
"""Arrivals of one chat that wait, each to be answered alone."""
MOST_KEPT = 500
"""Arrivals of one chat that wait, of whatever kind."""
MOST_TEXT = 4096
"""Characters of a text, as in every message: where it would be longer, another one begins."""
FLOODS = (Wrote, Tapped, Answered, Began, Sent)
"""What people bring about themselves."""

# An update that is there already changes nothing.
RECEIVE = """
INSERT INTO inbox (dealer, channel, chat, update_id, at, tub, body, state, leased_until, head, handled_at)
SELECT :dealer, :channel, :chat, :update_id, :at, :tub, :body, :state, :rests_until,
       CASE WHEN :state = 'waiting' AND NOT EXISTS (
           SELECT 1 FROM inbox INDEXED BY inbox_waiting
           WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND state = 'waiting') THEN 1 ELSE 0 END,
       CASE WHEN :state <> 'waiting' THEN :at END
WHERE true
ON CONFLICT (dealer, channel, update_id) DO NOTHING
"""
WAITING = """
SELECT count(*) AS waiting, max(number) AS newest FROM inbox INDEXED BY inbox_waiting
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND state = 'waiting'
"""
IS_THERE = "SELECT 1 FROM inbox WHERE dealer = :dealer AND channel = :channel AND update_id = :update_id"
NEWEST = "SELECT * FROM inbox WHERE number = :number"
JOIN = """
UPDATE inbox SET body = :body, leased_until = CASE WHEN leased_until > :rest THEN leased_until ELSE :rest END
WHERE number = :number AND claims = 0
"""
OLDEST_FREE = """
SELECT * FROM inbox WHERE head = 1 AND leased_until <= :now ORDER BY number LIMIT 1 /*pg FOR UPDATE SKIP LOCKED*/
"""
LEASE = "UPDATE inbox SET leased_until = :until, claims = claims + 1 WHERE number = :number"
FREE_ALL = "UPDATE inbox SET leased_until = 0 WHERE head = 1 AND leased_until > 0"

# Only who took it last may finish it; the number of claims tells.
FINISH = """
UPDATE inbox SET state = :state, head = 0, leased_until = 0, why = :why, handled_at = :now
WHERE number = :number AND state = 'waiting' AND claims = :claims
"""
TRY_AGAIN = """
UPDATE inbox SET attempts = attempts + 1, leased_until = 0, why = :why
WHERE number = :number AND state = 'waiting' AND claims = :claims
"""
POSTPONE = """
UPDATE inbox SET leased_until = :until, claims = claims - 1
WHERE number = :number AND state = 'waiting' AND claims = :claims
"""
NEXT_HEAD = """
UPDATE inbox SET head = 1 WHERE number = (
    SELECT min(number) FROM inbox INDEXED BY inbox_waiting
    WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND state = 'waiting')
"""
NO_HEAD = """
UPDATE inbox INDEXED BY inbox_waiting SET head = 0
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND state = 'waiting'
"""
MOVE = """
UPDATE inbox SET chat = :new, head = 0, leased_until = 0
WHERE dealer = :dealer AND channel = :channel AND chat = :chat
"""


def receive(db: Unit, arrival: Arrival, tub: str | None = None) -> bool:
    """Keep an arrival, with the tub that it is about where that is known; False if it is there already.

    What belongs to the last that waits is joined to it: parts of an album, and the texts of a chat that brings more
    than is worked off.
    """
    db.lock("inbox", [chat_named(arrival)])
    row = {**arrival_row(arrival), "tub": tub}
    if isinstance(arrival.event, FLOODS) and (found := db.execute(WAITING, chat_of(arrival)).fetchone()):
        waiting = found["waiting"]
        may_join = waiting >= MOST_WAITING or (waiting and isinstance(arrival.event, Sent))
        if may_join and not db.execute(IS_THERE, row).fetchone() and _join(db, arrival, row, found["newest"], waiting):
            return db.execute(RECEIVE, {**row, "state": "done"}).rowcount == 1
        if waiting >= MOST_KEPT:
            log.warning("a chat has %d arrivals waiting; what comes from it now is dropped", waiting)
            return False
    state = "parked" if arrival.event is None else "waiting"
    return db.execute(RECEIVE, {**row, "state": state}).rowcount == 1


def _join(db: Unit, arrival: Arrival, row: Values, newest: int, waiting: int) -> bool:
    """Join an arrival to the newest of its chat, if it belongs to it and nobody has taken that yet."""
    there = db.execute(NEWEST, {"number": newest}).fetchone()
    if there is None:
        return False
    last = arrival_from(there)
    whole = _whole(last, arrival, is_flood=waiting >= MOST_WAITING and not there["head"])
    if whole is None or last.group != arrival.group:
        return False
    body = arrival_row(last.model_copy(update={"event": whole}))["body"]
    return db.execute(JOIN, {"number": newest, "body": body, "rest": row["rests_until"]}).rowcount == 1


def _whole(last: Arrival, arrival: Arrival, *, is_flood: bool) -> Event | None:
    """What two arrivals are together; None where each is for itself."""
    match last.event, arrival.event:
        case Sent() as first, Sent() as more if first.album and first.album == more.album:
            return first.joined(more)
        case Wrote() as first, Wrote() as more if is_flood and more.model_copy(update={"text": first.text}) == first:
            text = f"{first.text}\n{more.text}"
            # nothing is cut off: it may be a word of danger
            return first.model_copy(update={"text": text}) if len(text) <= MOST_TEXT else None
    return None


def take(db: Unit, now: int, until: int) -> Taken | None:
    """Lease the oldest arrival that is free."""
    row = db.execute(OLDEST_FREE, {"now": now}).fetchone()
    if row is None:
        return None
    db.execute(LEASE, {"number": row["number"], "until": until})
    return Taken(row["number"], arrival_from(row), row["attempts"], row["claims"] + 1)


def finish(db: Unit, taken: Taken, now: int, state: str, why: str | None = None) -> None:
    """Mark an arrival `done` or `dead`; Lost if somebody else has it by now."""
    db.lock("inbox", [chat_named(taken.arrival)])
    values = {"number": taken.number, "claims": taken.claims, "now": now, "state": state, "why": why}
    if db.execute(FINISH, values).rowcount != 1:
        raise Lost(f"arrival {taken.number} is no longer ours")
    db.execute(NEXT_HEAD, chat_of(taken.arrival))


def postpone(db: Unit, taken: Taken, until: int) -> None:
    """Free an arrival from then on, as if it had not been taken; Lost if somebody else has it by now."""
    if db.execute(POSTPONE, {"number": taken.number, "claims": taken.claims, "until": until}).rowcount != 1:
        raise Lost(f"arrival {taken.number} is no longer ours")


def try_again(db: Unit, taken: Taken, why: str) -> None:
    """Free an arrival for another try; Lost if somebody else has it by now."""
    if db.execute(TRY_AGAIN, {"number": taken.number, "claims": taken.claims, "why": why}).rowcount != 1:
        raise Lost(f"arrival {taken.number} is no longer ours")


def move(db: Unit, dealer: str, channel: str, chat: str, new: str) -> None:
    """Move a chat's arrivals to its new name."""
    db.execute(MOVE, {"dealer": dealer, "channel": channel, "chat": chat, "new": new})
    db.execute(NO_HEAD, {"dealer": dealer, "channel": channel, "chat": new})
    db.execute(NEXT_HEAD, {"dealer": dealer, "channel": channel, "chat": new})


def talk_of(arrival: Arrival) -> dict[str, str]:
    """The conversation that an arrival belongs to, as SQL values: in a group everybody has one in each topic."""
    chat = arrival.address.chat
    if arrival.group is not None:
        chat = f"{chat}/{arrival.group.thread}/{arrival.group.by}"
    return {"dealer": arrival.dealer, "channel": arrival.address.channel, "chat": chat}


def chat_named(arrival: Arrival) -> tuple[str, str, str]:
    """The chat of an arrival, as a name to lock."""
    return arrival.dealer, arrival.address.channel, arrival.address.chat


def chat_of(arrival: Arrival) -> dict[str, str]:
    """The chat of an arrival, as SQL values."""
    return {"dealer": arrival.dealer, "channel": arrival.address.channel, "chat": arrival.address.chat}

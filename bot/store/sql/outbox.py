"""The outbox: messages wait in two queues a chat; only the heads of queues may leave, one a chat at a time."""

from bot.model.message import LANES, Delivered, Lane, Message, Parcel, Refusal
from bot.model.person import Address
from bot.model.round import RowState
from bot.store.sql import following, readers, topics
from bot.store.sql.records import lane_number, parcel_from
from bot.store.sql.unit import Unit, Values

_FIRST_CALM = LANES.index("reminder")

APPEND = """
INSERT INTO outbox (dealer, channel, chat, person, lane, calm, at, body, round, live, state, head)
VALUES (:dealer, :channel, :chat, :person, :lane, :calm, :at, :body, :round, :live, 'waiting', CASE WHEN EXISTS (
    SELECT 1 FROM outbox
    WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND calm = :calm AND head = 1) THEN 0 ELSE 1 END)
"""

# What is to be shown next takes the place of what was to be shown and has not left.
REPLACE_LIVE = """
UPDATE outbox INDEXED BY outbox_live SET body = :body, at = :at
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND live = :live AND state = 'waiting'
  AND leased_until = 0
"""
# A head leaves unless its time has not come, its channel is paused, another parcel of its chat is on its way, or it is
# a calm one and an urgent one that is older still waits.
READY = """
SELECT * FROM outbox AS o
WHERE head = 1 AND channel = :channel AND not_before <= :now AND leased_until <= :now
  AND NOT EXISTS (SELECT 1 FROM outbox AS b
                  WHERE b.head = 1 AND b.dealer = o.dealer AND b.channel = o.channel AND b.chat = o.chat
                    AND (b.leased_until > :now OR (o.calm = 1 AND b.calm = 0 AND b.number < o.number)))
  AND NOT EXISTS (SELECT 1 FROM pauses AS p
                  WHERE p.dealer = o.dealer AND p.channel = o.channel AND p.until > :now)
ORDER BY lane, number
LIMIT :limit
"""
READY_OF_DEALER = READY.replace("WHERE head = 1 AND channel", "WHERE head = 1 AND dealer = :dealer AND channel")
# A lease that ran out means that the process died while sending: that attempt may have arrived.
LEASE = """
UPDATE outbox
SET doubts = doubts + CASE WHEN leased_until > 0 THEN 1 ELSE 0 END, leased_until = :until, attempts = attempts + 1
WHERE number = :number RETURNING *
"""
FREE_OF_DEALER = """
UPDATE outbox SET leased_until = 1 WHERE head = 1 AND leased_until > 1 AND dealer = :dealer AND channel = :channel
"""
FREE_ALL = "UPDATE outbox SET leased_until = 1 WHERE head = 1 AND leased_until > 1"

FINISH = """
UPDATE outbox SET state = :state, head = 0, leased_until = 0, finished_at = :now, reference = :reference, why = :why
WHERE number = :number AND state = 'waiting'
RETURNING dealer, channel, chat, calm, round, person
"""
HOLD_BACK = """
UPDATE outbox SET leased_until = 0, not_before = :again, why = :why, doubts = doubts + :doubt
WHERE number = :number AND state = 'waiting' AND attempts = :attempts
"""
NEXT_HEAD = """
UPDATE outbox SET head = 1 WHERE number = (
    SELECT min(number) FROM outbox INDEXED BY outbox_waiting
    WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND calm = :calm AND state = 'waiting')
"""
PAUSE = """
INSERT INTO pauses (dealer, channel, until) VALUES (:dealer, :channel, :until)
ON CONFLICT (dealer, channel) DO UPDATE
SET until = CASE WHEN excluded.until > pauses.until THEN excluded.until ELSE pauses.until END
"""
CLOSE_CHAT = """
UPDATE outbox INDEXED BY outbox_waiting SET state = 'failed', head = 0, leased_until = 0, finished_at = :now, why = :why
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND state = 'waiting'
RETURNING round, person
"""
CLOSE_PERSON = """
UPDATE people SET standing = 'blocked'
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND standing NOT IN ('erased', 'stopped')
"""
MOVE = """
UPDATE outbox INDEXED BY outbox_waiting SET chat = :new, head = 0
WHERE dealer = :dealer AND channel = :channel AND chat IN (:chat, :new) AND state = 'waiting'
"""
MOVE_FINISHED = "UPDATE outbox SET chat = :new WHERE dealer = :dealer AND channel = :channel AND chat = :chat"
DEPTHS = "SELECT lane, count(*) AS depth FROM outbox WHERE state = 'waiting' GROUP BY lane"


def append(db: Unit, dealer: str, address: Address, message: Message, now: int) -> None:
    """Put a message in the outbox."""
    db.lock("outbox", [(dealer, address.channel, address.chat)])
    lane = lane_number(message)
    values: Values = {
        "dealer": dealer,
        "channel": address.channel,
        "chat": address.chat,
        "person": message.to or None,
        "lane": lane,
        "calm": int(lane >= _FIRST_CALM),
        "at": now,
        "body": message.model_dump_json(),
        "round": message.round,
        "live": message.live,
    }
    if message.live is None or db.execute(REPLACE_LIVE, values).rowcount == 0:
        db.execute(APPEND, values)


def next_parcels(
    db: Unit, channel: str, now: int, until: int, limit: int, busy: frozenset[Address], dealer: str | None = None
) -> list[Parcel]:
    """Lease what may leave now, at most one a chat."""
    db.lock("outbox", [(channel, dealer or "")])
    chosen: dict[tuple[str, str], int] = {}
    room = 2 * (limit + len(busy))
    ready = READY if dealer is None else READY_OF_DEALER
    for row in db.execute(ready, {"channel": channel, "now": now, "limit": room, "dealer": dealer}).fetchall():
        if len(chosen) < limit and Address(channel=channel, chat=row["chat"]) not in busy:
            chosen.setdefault((row["dealer"], row["chat"]), row["number"])
    return [_leased(db, number, until) for number in chosen.values()]


def _leased(db: Unit, number: int, until: int) -> Parcel:
    parcel = parcel_from(db.execute(LEASE, {"number": number, "until": until}).fetchall()[0])
    return topics.with_thread(db, following.with_place(db, readers.with_reader(db, parcel)))


def delivered(db: Unit, parcel: Parcel, receipt: Delivered, now: int) -> None:
    """Mark a parcel sent."""
    topics.keep(db, parcel, receipt.thread)
    following.keep_place(db, parcel, receipt)
    _finish(db, parcel, now, state="sent", reference=receipt.reference, why=None, fate="delivered")


def refused(db: Unit, parcel: Parcel, refusal: Refusal, now: int, again: int | None) -> None:
    """Mark a parcel as to be tried again or never, and draw what follows for its chat and its channel."""
    topics.keep(db, parcel, refusal.thread)
    chat: Values = {"dealer": parcel.dealer, "channel": parcel.address.channel, "chat": parcel.address.chat}
    if again is None:
        _finish(db, parcel, now, state="failed", reference=None, why=refusal.why, fate=following.fate(refusal))
    else:
        doubt = int(refusal.kind == "unknown")
        values: Values = {"number": parcel.number, "attempts": parcel.attempts, "again": again, "doubt": doubt}
        db.execute(HOLD_BACK, {**values, "why": refusal.why})
        if refusal.everyone:
            db.execute(PAUSE, {**chat, "until": again})
    if refusal.kind in {"blocked", "gone"}:
        for row in db.execute(CLOSE_CHAT, {**chat, "now": now, "why": refusal.why}).fetchall():
            following.follow_round(db, parcel.dealer, row, "blocked", refusal.why, now)
        db.execute(CLOSE_PERSON, chat)


def move(db: Unit, dealer: str, channel: str, chat: str, new: str) -> None:
    """Move a chat's parcels to its new name, in one queue with what waits there already."""
    values: Values = {"dealer": dealer, "channel": channel, "chat": chat, "new": new}
    db.execute(MOVE, values)
    db.execute(MOVE_FINISHED, values)
    for calm in (0, 1):
        db.execute(NEXT_HEAD, {"dealer": dealer, "channel": channel, "chat": new, "calm": calm})


def depths(db: Unit) -> dict[Lane, int]:
    """How many parcels wait in each lane."""
    counted = {LANES[row["lane"]]: row["depth"] for row in db.execute(DEPTHS).fetchall()}
    return {lane: counted.get(lane, 0) for lane in LANES}


def _finish(
    db: Unit, parcel: Parcel, now: int, *, state: str, reference: str | None, why: str | None, fate: RowState
) -> None:
    values: Values = {"number": parcel.number, "now": now, "state": state, "reference": reference, "why": why}
    db.lock("outbox", [(parcel.dealer, parcel.address.channel, parcel.address.chat)])
    for queue in db.execute(FINISH, values).fetchall():
        db.execute(NEXT_HEAD, {name: queue[name] for name in ("dealer", "channel", "chat", "calm")})
        following.follow_round(db, parcel.dealer, queue, fate, why, now)

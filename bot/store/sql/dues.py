"""The due table: timers and reminders, moved into the inbox when their time has come."""

import logging
from collections.abc import Iterable

from bot.model.due import Due
from bot.model.event import Arrival, Fell
from bot.store.sql import inbox
from bot.store.sql.records import address_of, due_from, due_row, from_ms
from bot.store.sql.unit import Row, Unit

log = logging.getLogger(__name__)

# Setting a due row again moves it.
SET = """
INSERT INTO dues (dealer, key, kind, what, person, tub, at)
VALUES (:dealer, :key, :kind, :what, :person, :tub, :at)
ON CONFLICT (dealer, key) DO UPDATE
SET kind = excluded.kind, what = excluded.what, person = excluded.person, tub = excluded.tub, at = excluded.at
"""
CANCEL = "DELETE FROM dues WHERE dealer = :dealer AND key = :key"
FALL = "DELETE FROM dues WHERE dealer = :dealer AND key = :key AND at = :at"
RIPE = """
SELECT dues.*, people.channel, people.chat
FROM dues JOIN people ON people.dealer = dues.dealer AND people.key = dues.person
WHERE dues.at <= :now
ORDER BY dues.at, dues.rowid
LIMIT :limit
"""
OPEN = """
SELECT * FROM dues WHERE dealer = :dealer AND person = :person
UNION
SELECT * FROM dues WHERE dealer = :dealer AND tub = :tub
ORDER BY at, key
"""
NEXT = """
SELECT min(at) AS at FROM (
    SELECT min(at) AS at FROM dues WHERE at > :after
    UNION ALL
    SELECT min(at) FROM (
        SELECT CASE WHEN until > not_before THEN until ELSE not_before END AS at
        FROM outbox LEFT JOIN pauses USING (dealer, channel)
        WHERE head = 1) AS waiting
    WHERE at > :after
    UNION ALL
    SELECT min(round_rows.at) FROM rounds
    JOIN round_rows ON round_rows.dealer = rounds.dealer AND round_rows.round = rounds.key
    WHERE rounds.reported = 0 AND rounds.state = 'running' AND round_rows.state = 'waiting' AND round_rows.why = ''
      AND round_rows.at > :after) AS all_of_them
"""


def change(db: Unit, dealer: str, set_dues: Iterable[Due], cancel: Iterable[str]) -> None:
    """Cancel due rows and set others."""
    for key in cancel:
        db.execute(CANCEL, {"dealer": dealer, "key": key})
    for due in set_dues:
        db.execute(SET, due_row(due))


def ripen(db: Unit, now: int, limit: int) -> int:
    """Move due rows into the inbox; returns how many were due."""
    rows = db.execute(RIPE, {"now": now, "limit": limit}).fetchall()
    db.lock("inbox", [(row["dealer"], row["channel"], row["chat"]) for row in rows])
    return sum(_fall(db, row, now) for row in rows)


def _fall(db: Unit, row: Row, now: int) -> int:
    """Turn one due row into an arrival; 0 where it was moved, cancelled or taken meanwhile."""
    due = due_from(row)
    if db.execute(FALL, {"dealer": due.dealer, "key": due.key, "at": row["at"]}).rowcount != 1:
        return 0
    if row["chat"] is None:
        log.warning("a %s fell due for somebody without an address and was dropped: %s", due.kind, due.what)
        return 1
    arrival = Arrival(
        dealer=due.dealer,
        address=address_of(row),
        update=f"due:{due.key}@{row['at']}",
        at=from_ms(now),
        event=Fell(due=due.key, what=due.what, planned=due.at),
    )
    inbox.receive(db, arrival, tub=due.tub)
    return 1


def open_dues(db: Unit, dealer: str, person: str | None, tub: str | None) -> tuple[Due, ...]:
    """Due rows of a person and of a tub, soonest first."""
    rows = db.execute(OPEN, {"dealer": dealer, "person": person, "tub": tub}).fetchall()
    return tuple(map(due_from, rows))


def next_moment(db: Unit, after: int) -> int | None:
    """The earliest time, later than `after`, at which a due row ripens or a parcel may leave."""
    (row,) = db.execute(NEXT, {"after": after}).fetchall()
    moment: int | None = row["at"]
    return moment

"""Taking messages of rounds out of the outbox again, those that nobody has taken up: the others may have arrived."""

from bot.store.sql.outbox import NEXT_HEAD
from bot.store.sql.unit import Row, Unit

OF_ROUND = """
SELECT number, dealer, channel, chat, calm, round, person FROM outbox
WHERE dealer = :dealer AND round = :round AND state = 'waiting' AND leased_until = 0 AND doubts = 0
"""
OF_PERSON = """
SELECT outbox.number, outbox.dealer, outbox.channel, outbox.chat, outbox.calm, outbox.round, outbox.person
FROM outbox JOIN rounds ON rounds.dealer = outbox.dealer AND rounds.key = outbox.round
WHERE outbox.dealer = :dealer AND outbox.person = :person AND outbox.state = 'waiting'
  AND outbox.leased_until = 0 AND outbox.doubts = 0 AND rounds.kind <> 'recall'
"""
REMOVE = "DELETE FROM outbox WHERE number = :number AND state = 'waiting' AND leased_until = 0 AND doubts = 0"
BACK_TO = """
UPDATE round_rows SET state = :state, why = :why, at = :at
WHERE dealer = :dealer AND round = :round AND person = :person AND state = 'queued'
"""


def take_back(db: Unit, dealer: str, round_key: str) -> None:
    """What waits for a round in the outbox waits in the round again."""
    rows = db.execute(OF_ROUND, {"dealer": dealer, "round": round_key}).fetchall()
    db.lock("outbox", [(dealer, row["channel"], row["chat"]) for row in rows])
    for row in rows:
        _remove(db, row, state="waiting", why="", at=0)


def leave_out(db: Unit, dealer: str, person: str, why: str, now: int) -> None:
    """Nothing of any round goes to somebody who wants no more, but for a safety recall."""
    rows = db.execute(OF_PERSON, {"dealer": dealer, "person": person}).fetchall()
    db.lock("outbox", [(dealer, row["channel"], row["chat"]) for row in rows])
    for row in rows:
        _remove(db, row, state="left_out", why=why, at=now)


def _remove(db: Unit, row: Row, *, state: str, why: str, at: int) -> None:
    """Take one out, unless it was taken up meanwhile."""
    if db.execute(REMOVE, {"number": row["number"]}).rowcount == 0:
        return
    db.execute(NEXT_HEAD, {name: row[name] for name in ("dealer", "channel", "chat", "calm")})
    whose = {name: row[name] for name in ("dealer", "round", "person")}
    db.execute(BACK_TO, {**whose, "state": state, "why": why, "at": at})

"""What is kept for a time only, by the dealer's settings: words and files. Numbers, kinds and times stay for ever."""

from datetime import datetime, timedelta
from itertools import takewhile

from bot.model.dealer import Keep
from bot.model.fact import CaseCleared, CaseSaid
from bot.store.sql import erasure, house
from bot.store.sql.records import fact_from, fact_json, to_ms
from bot.store.sql.unit import Row, Unit, Values

_KEPT = "dealer = :dealer AND kind IN ('note', 'case_said', 'cleared', 'brought', 'invites', 'round_order')"
"""As the index `journal_kept` has it."""
_OVER = "rounds.dealer = :dealer AND rounds.made_at BETWEEN 1 AND :before - 1 AND rounds.reported = 1"
ARRIVALS = """
DELETE FROM inbox WHERE number IN (
    SELECT number FROM inbox WHERE dealer = :dealer AND handled_at < :before LIMIT :limit)
"""
PARCELS = """
DELETE FROM outbox WHERE number IN (
    SELECT number FROM outbox WHERE dealer = :dealer AND finished_at < :before LIMIT :limit)
"""
# Whoever wrote and is nobody here, and of whose messages none is kept any more. A group's have names of several parts.
PASSERS_BY = """
DELETE FROM conversations WHERE (dealer, channel, chat) IN (
    SELECT c.dealer, c.channel, c.chat FROM conversations AS c
    WHERE c.dealer = :dealer AND c.chat NOT LIKE '%/%'
      AND NOT EXISTS (SELECT 1 FROM people AS p
                      WHERE p.dealer = c.dealer AND p.channel = c.channel AND p.chat = c.chat)
      AND NOT EXISTS (SELECT 1 FROM inbox AS i
                      WHERE i.dealer = c.dealer AND i.channel = c.channel AND i.chat = c.chat)
    LIMIT :limit)
"""
NOTES = f"""
DELETE FROM journal WHERE number IN (
    SELECT number FROM journal WHERE {_KEPT} AND kind = 'note' AND at < :before LIMIT :limit)
"""  # noqa: S608 - words of our own
AUDIT = f"""
DELETE FROM journal WHERE number IN (
    SELECT number FROM journal
    WHERE {_KEPT} AND kind IN ('brought', 'invites', 'round_order') AND at < :before LIMIT :limit)
"""  # noqa: S608 - words of our own
ACTED = """
DELETE FROM journal WHERE number IN (
    SELECT number FROM journal
    WHERE dealer = :dealer AND at < :before AND kind IN ('acted', 'household') AND kind IN (
        'acted', 'brought', 'invites', 'round_order', 'household', 'case', 'taken', 'given_back', 'cleared', 'reopened',
        'plan_sent', 'doses_held')
    ORDER BY at LIMIT :limit)
"""
ROUND_ROWS = f"""
DELETE FROM round_rows WHERE number IN (
    SELECT round_rows.number FROM rounds
    JOIN round_rows ON round_rows.dealer = rounds.dealer AND round_rows.round = rounds.key
    WHERE {_OVER} LIMIT :limit)
"""  # noqa: S608 - words of our own
ROUNDS = f"""
DELETE FROM rounds WHERE number IN (
    SELECT rounds.number FROM rounds
    WHERE {_OVER} AND NOT EXISTS (
        SELECT 1 FROM round_rows WHERE round_rows.dealer = rounds.dealer AND round_rows.round = rounds.key)
    LIMIT :limit)
"""  # noqa: S608 - words of our own
WITH_FILES = f"""
SELECT number, body FROM journal
WHERE {_KEPT} AND kind = 'case_said' AND at < :before AND body LIKE '%"files":[{{%' LIMIT :limit
"""  # noqa: S608 - words of our own
ENDED = f"""
SELECT number, at, tub, body FROM journal INDEXED BY journal_kept
WHERE {_KEPT} AND kind = 'cleared' AND number > :after ORDER BY number LIMIT :limit
"""  # noqa: S608 - words of our own
IS_OPEN = "SELECT 1 FROM open_cases WHERE dealer = :dealer AND case_key = :case_key"
_OF_CASES = "kind IN ('case', 'case_said', 'case_note', 'cleared')"
OF_TUB = f"SELECT number, body FROM journal WHERE dealer = :dealer AND tub = :tub AND {_OF_CASES}"  # noqa: S608
OF_NO_TUB = f"SELECT number, body FROM journal WHERE dealer = :dealer AND tub IS NULL AND {_OF_CASES}"  # noqa: S608
WORDLESS = "keeping.cases"
"""Under which it is remembered up to which end of a case words are gone."""
CASES_AT_ONCE = 20


def forget(db: Unit, dealer: str, keep: Keep, now: datetime, limit: int) -> int:
    """Forget at most `limit` rows of each kind; returns how many went or lost their words."""

    def before(days: int) -> Values:
        return {"dealer": dealer, "before": to_ms(now - timedelta(days=days)), "limit": limit}

    statements = (
        (ARRIVALS, keep.messages),
        (PARCELS, keep.messages),
        (PASSERS_BY, keep.messages),
        (NOTES, keep.words),
        (AUDIT, keep.audit),
        (ACTED, keep.audit),
        (ROUND_ROWS, keep.audit),
        (ROUNDS, keep.audit),
    )
    gone = sum(db.execute(sql, before(days)).rowcount for sql, days in statements)
    return gone + _files(db, before(keep.files)) + _cases(db, dealer, before(keep.cases))


def _files(db: Unit, values: Values) -> int:
    """Forget by which the files of cases can be fetched."""
    rows = db.execute(WITH_FILES, values).fetchall()
    for row in rows:
        said = fact_from(row["body"])
        assert isinstance(said, CaseSaid)
        bare = fact_json(said.model_copy(update={"files": ()}))
        db.execute(erasure.REWRITE_ENTRY, {"number": row["number"], "body": bare})
    return len(rows)


def _cases(db: Unit, dealer: str, values: Values) -> int:
    """Take the words out of cases that ended before then; one that came back is looked at when it ends again."""
    reached = house.memory(db, dealer, WORDLESS) or 0
    rows = db.execute(ENDED, {"dealer": dealer, "after": reached, "limit": CASES_AT_ONCE}).fetchall()
    old = [*takewhile(lambda row: row["at"] < values["before"], rows)]
    for row in old:
        _without_words(db, dealer, row)
    if old:
        house.remember(db, dealer, WORDLESS, old[-1]["number"])
    return len(old)


def _without_words(db: Unit, dealer: str, ended: Row) -> None:
    fact = fact_from(ended["body"])
    assert isinstance(fact, CaseCleared)
    if db.execute(IS_OPEN, {"dealer": dealer, "case_key": fact.case}).fetchone():
        return
    sql = OF_NO_TUB if ended["tub"] is None else OF_TUB
    rows = db.execute(sql, {"dealer": dealer, "tub": ended["tub"]}).fetchall()
    erasure.drop_words(db, (row for row in rows if getattr(fact_from(row["body"]), "case", None) == fact.case))

"""The journal: entries are appended, read by tub and by person, and never changed, but that words are forgotten in time
and when somebody is erased.
"""

from collections.abc import Iterable, Iterator

from bot.model.fact import CaseCleared, CaseOpened, CaseReopened, Corrected, Entry
from bot.model.trail import RoundAnswered
from bot.store.sql import rounds
from bot.store.sql.records import entry_from, entry_row, to_ms
from bot.store.sql.unit import Unit, Values

NEWEST = 2000
"""How many entries a conversation is given to look at."""
BEFORE_CASE = 60
"""How many of a tub's newest entries the dealer's people are given, where a case is younger than they are."""

APPEND = """
INSERT INTO journal (dealer, key, tub, person, at, via, kind, body)
VALUES (:dealer, :key, :tub, :person, :at, :via, :kind, :body)
ON CONFLICT (dealer, key) DO NOTHING
RETURNING number
"""
OPEN_CASE = """
INSERT INTO open_cases (dealer, case_key, entry) VALUES (:dealer, :case_key, :entry)
ON CONFLICT (dealer, case_key) DO NOTHING
"""
REOPEN_CASE = """
INSERT INTO open_cases (dealer, case_key, entry)
SELECT :dealer, :case_key, number FROM journal WHERE dealer = :dealer AND key = :entry
ON CONFLICT (dealer, case_key) DO NOTHING
"""
CLEAR_CASE = "DELETE FROM open_cases WHERE dealer = :dealer AND case_key = :case_key"
UNDO_CASE = """
DELETE FROM open_cases
WHERE entry = (SELECT number FROM journal WHERE dealer = :dealer AND key = :key)
"""
CASES = """
SELECT journal.* FROM open_cases JOIN journal ON journal.number = open_cases.entry
WHERE open_cases.dealer = :dealer
ORDER BY journal.number
"""
TUB_OF_CASE = """
SELECT journal.tub FROM open_cases JOIN journal ON journal.number = open_cases.entry
WHERE open_cases.dealer = :dealer AND journal.person = :person AND journal.tub IS NOT NULL
ORDER BY journal.number DESC LIMIT 1
"""
# The newest by time, whichever order they were written in.
AROUND = """
SELECT * FROM (SELECT * FROM journal WHERE dealer = :dealer AND tub = :tub
               ORDER BY at DESC, number DESC LIMIT :newest) AS of_tub
UNION ALL
SELECT * FROM (SELECT * FROM journal WHERE dealer = :dealer AND person = :person AND tub IS NULL
               ORDER BY at DESC, number DESC LIMIT :newest) AS own
ORDER BY at DESC, number DESC
LIMIT :newest
"""
# Since a case was opened, and a little of what went before.
AROUND_CASE = """
SELECT * FROM journal
WHERE dealer = :dealer AND tub = :tub AND number >= (
    SELECT min(number) FROM (
        SELECT :opened AS number
        UNION ALL
        SELECT coalesce((SELECT number FROM journal WHERE dealer = :dealer AND tub = :tub
                         ORDER BY number DESC LIMIT 1 OFFSET :before), 0)) AS since)
ORDER BY at, number
"""
MARK = """
SELECT coalesce(max(number), 0) AS number FROM (
    SELECT max(number) AS number FROM journal WHERE dealer = :dealer AND tub = :tub
    UNION ALL
    SELECT max(number) FROM journal WHERE dealer = :dealer AND person = :person AND tub IS NULL) AS newest
"""
OF_DEALER = "SELECT * FROM journal WHERE dealer = :dealer AND number > :after ORDER BY number"
OF_TUB = "SELECT * FROM journal WHERE dealer = :dealer AND tub = :tub AND number > :after ORDER BY number"
OF_PERSON = "SELECT * FROM journal WHERE dealer = :dealer AND person = :person AND number > :after ORDER BY number"
OF_BOTH = """
SELECT * FROM journal WHERE dealer = :dealer AND tub = :tub AND person = :person AND number > :after ORDER BY number
"""


def append(db: Unit, entries: Iterable[Entry]) -> None:
    """Append entries; one whose key exists already is not written twice."""
    entries = tuple(entries)
    db.lock("books", books_of(entries))
    for entry in entries:
        for row in db.execute(APPEND, entry_row(entry)).fetchall():
            _follow_case(db, entry, row["number"])
            if isinstance(entry.fact, RoundAnswered):
                rounds.answered(db, entry.dealer, entry.fact.round, entry.person, entry.fact.answer, to_ms(entry.at))


def books_of(entries: Iterable[Entry]) -> Iterator[tuple[str, str, str | None]]:
    """The tubs and people whose journals are written to, as names to lock."""
    for entry in entries:
        yield entry.dealer, "tub", entry.tub
        yield entry.dealer, "person", entry.person


def _follow_case(db: Unit, entry: Entry, number: int) -> None:
    match entry.fact:
        case CaseOpened(case=case):
            db.execute(OPEN_CASE, {"dealer": entry.dealer, "case_key": case, "entry": number})
        case CaseReopened(case=case, entry=opened):
            db.execute(REOPEN_CASE, {"dealer": entry.dealer, "case_key": case, "entry": opened})
        case CaseCleared(case=case):
            db.execute(CLEAR_CASE, {"dealer": entry.dealer, "case_key": case})
        case Corrected(of=key, fact=fact) if not isinstance(fact, CaseOpened):
            db.execute(UNDO_CASE, {"dealer": entry.dealer, "key": key})


def around(db: Unit, dealer: str, tub: str | None, person: str | None) -> tuple[Entry, ...]:
    """The newest entries of a tub and those of a person about no tub, oldest first."""
    values: Values = {"dealer": dealer, "tub": tub, "person": person, "newest": NEWEST}
    return tuple(entry_from(row) for row in reversed(db.execute(AROUND, values).fetchall()))


def mark(db: Unit, dealer: str, tub: str | None, person: str | None) -> int:
    """The running number of the newest of those entries."""
    (row,) = db.execute(MARK, {"dealer": dealer, "tub": tub, "person": person}).fetchall()
    return int(row["number"])


def numbered(db: Unit, dealer: str, after: int, tub: str | None, person: str | None) -> list[tuple[int, Entry]]:
    """Entries with their running numbers, in the order written."""
    match tub, person:
        case None, None:
            sql = OF_DEALER
        case _, None:
            sql = OF_TUB
        case None, _:
            sql = OF_PERSON
        case _:
            sql = OF_BOTH
    rows = db.execute(sql, {"dealer": dealer, "after": after, "tub": tub, "person": person}).fetchall()
    return [(row["number"], entry_from(row)) for row in rows]


def open_cases(db: Unit, dealer: str) -> list[tuple[int, Entry]]:
    """The entries that opened the cases that are still open, oldest first, with their running numbers."""
    return [(row["number"], entry_from(row)) for row in db.execute(CASES, {"dealer": dealer}).fetchall()]


def around_case(db: Unit, dealer: str, tub: str | None, opened: int) -> tuple[Entry, ...]:
    """The entries of a tub since the entry of that running number, and some before it, oldest first."""
    values: Values = {"dealer": dealer, "tub": tub, "opened": opened, "before": BEFORE_CASE}
    return tuple(map(entry_from, db.execute(AROUND_CASE, values).fetchall()))

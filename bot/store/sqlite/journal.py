"""The journal: entries are appended, read by tub and by person, and never changed (but by an erasure)."""

import sqlite3
from collections.abc import Iterable

from sqlite_utils import Database

from bot.model.fact import CaseCleared, CaseOpened, CaseReopened, Corrected, Entry
from bot.store.sqlite.records import Values, entry_from, entry_row

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
# The newest by time, whichever order they were written in.
AROUND = """
SELECT * FROM (SELECT * FROM journal WHERE dealer = :dealer AND tub = :tub
               ORDER BY at DESC, number DESC LIMIT :newest)
UNION ALL
SELECT * FROM (SELECT * FROM journal WHERE dealer = :dealer AND person = :person AND tub IS NULL
               ORDER BY at DESC, number DESC LIMIT :newest)
ORDER BY at DESC, number DESC
LIMIT :newest
"""
# Since a case was opened, and a little of what went before.
AROUND_CASE = """
SELECT * FROM journal
WHERE dealer = :dealer AND tub = :tub AND number >= min(:opened, ifnull(
    (SELECT number FROM journal WHERE dealer = :dealer AND tub = :tub ORDER BY number DESC LIMIT 1 OFFSET :before), 0))
ORDER BY at, number
"""
MARK = """
SELECT max(ifnull((SELECT max(number) FROM journal WHERE dealer = :dealer AND tub = :tub), 0),
           ifnull((SELECT max(number) FROM journal WHERE dealer = :dealer AND person = :person AND tub IS NULL), 0))
"""
OF_DEALER = "SELECT * FROM journal WHERE dealer = :dealer AND number > :after ORDER BY number"
OF_TUB = "SELECT * FROM journal WHERE dealer = :dealer AND tub = :tub AND number > :after ORDER BY number"
OF_PERSON = "SELECT * FROM journal WHERE dealer = :dealer AND person = :person AND number > :after ORDER BY number"
OF_BOTH = """
SELECT * FROM journal WHERE dealer = :dealer AND tub = :tub AND person = :person AND number > :after ORDER BY number
"""


def append(db: Database, entries: Iterable[Entry]) -> None:
    """Append entries; one whose key exists already is not written twice."""
    for entry in entries:
        written: list[sqlite3.Row] = db.execute(APPEND, entry_row(entry)).fetchall()
        for (number,) in written:
            _follow_case(db, entry, number)


def _follow_case(db: Database, entry: Entry, number: int) -> None:
    match entry.fact:
        case CaseOpened(case=case):
            db.execute(OPEN_CASE, {"dealer": entry.dealer, "case_key": case, "entry": number})
        case CaseReopened(case=case, entry=opened):
            db.execute(REOPEN_CASE, {"dealer": entry.dealer, "case_key": case, "entry": opened})
        case CaseCleared(case=case):
            db.execute(CLEAR_CASE, {"dealer": entry.dealer, "case_key": case})
        case Corrected(of=key, fact=fact) if not isinstance(fact, CaseOpened):
            db.execute(UNDO_CASE, {"dealer": entry.dealer, "key": key})


def around(db: Database, dealer: str, tub: str | None, person: str | None) -> tuple[Entry, ...]:
    """The newest entries of a tub and those of a person about no tub, oldest first."""
    values: Values = {"dealer": dealer, "tub": tub, "person": person, "newest": NEWEST}
    return tuple(entry_from(row) for row in reversed(db.execute(AROUND, values).fetchall()))


def mark(db: Database, dealer: str, tub: str | None, person: str | None) -> int:
    """The running number of the newest of those entries."""
    (number,) = db.execute(MARK, {"dealer": dealer, "tub": tub, "person": person}).fetchone()
    return int(number)


def numbered(db: Database, dealer: str, after: int, tub: str | None, person: str | None) -> list[tuple[int, Entry]]:
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


def open_cases(db: Database, dealer: str) -> list[tuple[int, Entry]]:
    """The entries that opened the cases that are still open, oldest first, with their running numbers."""
    return [(row["number"], entry_from(row)) for row in db.execute(CASES, {"dealer": dealer}).fetchall()]


def around_case(db: Database, dealer: str, tub: str | None, opened: int) -> tuple[Entry, ...]:
    """The entries of a tub since the entry of that running number, and some before it, oldest first."""
    values: Values = {"dealer": dealer, "tub": tub, "opened": opened, "before": BEFORE_CASE}
    return tuple(map(entry_from, db.execute(AROUND_CASE, values).fetchall()))

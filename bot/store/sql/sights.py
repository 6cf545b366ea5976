"""Sights of a dealer's owners, a page at a time: what each needs is found by index, however long the journals are."""

import json
from collections import defaultdict

from bot.model.known import Case
from bot.model.sight import Sight
from bot.store.sql import house, journal
from bot.store.sql.candidates import Reader
from bot.store.sql.records import entry_from, from_ms
from bot.store.sql.unit import Unit

KINDS = frozenset({"reading", "fill", "refill", "started", "cartridge"})
"""What is due, whether the first fill came to its end, and how the water was."""
SIGNS = (
    "reading", "addition", "soak", "fill", "refill", "started", "cartridge", "filter", "step", "note", "told", "paused",
)  # fmt: skip
"""What only somebody at the tub tells."""
HEARD = """
SELECT tub.value AS tub, max((
    SELECT max(at) FROM journal WHERE dealer = :dealer AND journal.tub = tub.value AND kind = sign.value)) AS at
FROM json_each(:tubs) AS tub CROSS JOIN json_each(:signs) AS sign
GROUP BY tub.value
"""
FIRST_TESTS = """
SELECT tub.value AS tub, (
    SELECT at FROM journal WHERE dealer = :dealer AND journal.tub = tub.value AND kind = 'reading'
      AND body LIKE '%"source"_false%'
    ORDER BY at, number LIMIT 1) AS at
FROM json_each(:tubs) AS tub
"""
# Those about the test are the ones that fall silent; the bot itself puts off doses. (_ stands for a colon.)
REMINDED = """
SELECT journal.tub, journal.person, journal.at, journal.body FROM json_each(:tubs) AS tub CROSS JOIN journal
WHERE journal.dealer = :dealer AND journal.tub = tub.value AND journal.kind = 'reminder'
  AND journal.at > coalesce((
      SELECT max(at) FROM journal AS w WHERE w.dealer = :dealer AND w.tub = tub.value AND w.kind = 'reading'), 0)
  AND journal.body NOT LIKE '%"what"_"dose"%'
ORDER BY journal.at, journal.number
"""
CASES = """
SELECT journal.* FROM open_cases JOIN journal ON journal.number = open_cases.entry
WHERE open_cases.dealer = :dealer AND journal.person BETWEEN :first AND :last
ORDER BY journal.number
"""


def page(db: Unit, dealer: str, after: str, limit: int) -> list[Sight]:
    """The owners behind a key in the order of their keys, each once for each of their tubs."""
    rows, candidates = Reader(db, dealer, "", KINDS).page(after, limit)
    if not rows:
        return []
    tubs = json.dumps(sorted({one.tub.key for one in candidates if one.tub}))
    signs = {"dealer": dealer, "tubs": tubs, "signs": json.dumps(SIGNS)}
    heard = {row["tub"]: row["at"] for row in db.execute(HEARD, signs).fetchall() if row["at"] is not None}
    first_tests = {
        row["tub"]: row["at"] for row in db.execute(FIRST_TESTS, {"dealer": dealer, "tubs": tubs}).fetchall()
    }
    reminded = _reminded(db, dealer, tubs)
    cases = _open_cases(db, dealer, rows[0]["key"], rows[-1]["key"])
    seen: set[str] = set()
    sights = []
    for one in candidates:
        tub = one.tub.key if one.tub else ""
        since, unanswered = reminded.get((tub, one.person.key), (None, 0))
        told = max((at for at in (heard.get(tub), since) if at is not None), default=None)
        first = one.person.key not in seen
        seen.add(one.person.key)
        mine = [
            case for case in cases.get(one.person.key, ()) if case.entry.tub == tub or (first and not case.entry.tub)
        ]
        sights.append(
            Sight(
                person=one.person,
                tub=one.tub,
                journal=one.journal,
                heard=None if told is None else from_ms(told),
                unanswered=unanswered,
                first_test=None if (at := first_tests.get(tub)) is None else from_ms(at),
                cases=tuple(mine),
            )
        )
    return sights


def _reminded(db: Unit, dealer: str, tubs: str) -> dict[tuple[str, str], tuple[int | None, int]]:
    """By tub and person: when a reminder was last answered since the newest test, and how many to test came after."""
    found: dict[tuple[str, str], tuple[int | None, int]] = {}
    for row in db.execute(REMINDED, {"dealer": dealer, "tubs": tubs}).fetchall():
        key = (row["tub"], row["person"] or "")
        said = json.loads(row["body"])
        since, count = found.get(key, (None, 0))
        if said["answer"] != "sent":
            found[key] = (row["at"], 0)
        elif said["what"] == "test":
            found[key] = (since, count + 1)
    return found


def _open_cases(db: Unit, dealer: str, first: str, last: str) -> dict[str, list[Case]]:
    found: defaultdict[str, list[Case]] = defaultdict(list)
    for row in db.execute(CASES, {"dealer": dealer, "first": first, "last": last}).fetchall():
        entry = entry_from(row)
        around = journal.around_case(db, dealer, entry.tub, row["number"])
        tub = house.tub_named(db, dealer, entry.tub)
        found[row["person"]].append(Case(entry=entry, owner=None, tub=tub, journal=around))
    return found

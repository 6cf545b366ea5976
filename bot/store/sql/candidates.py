"""Candidates of a round: people with a tub of theirs and the few entries of its journal that the criteria look at."""

import json
from collections import defaultdict
from collections.abc import Iterable, Sequence
from datetime import date

from bot.model.fact import Entry
from bot.model.person import Person
from bot.model.round import Candidate
from bot.model.tub import Tub
from bot.store.sql.records import entry_from, from_ms, person_from, tub_from
from bot.store.sql.unit import Row, Unit, Values

PAGE = """
SELECT * FROM people WHERE dealer = :dealer AND key > :after AND role = 'owner' AND standing <> 'erased'
ORDER BY key LIMIT :limit
"""
TUBS = """
SELECT links.person, tubs.body FROM links JOIN tubs ON tubs.dealer = links.dealer AND tubs.key = links.tub
WHERE links.dealer = :dealer AND links.person IN (SELECT one.value FROM json_each(:people) AS one)
ORDER BY links.number DESC
"""
# The entries of a kind by the index on tub and kind. Of tests the newest of the tub's own water is enough, of reminders
# those that were done, of soaks those in this water. (The sign _ stands for a colon, which would begin a parameter.)
JOURNAL = """
SELECT journal.* FROM json_each(:tubs) AS tub CROSS JOIN json_each(:kinds) AS kind CROSS JOIN journal
WHERE journal.dealer = :dealer AND journal.tub = tub.value AND journal.kind = kind.value
  AND (journal.kind <> 'reminder' OR journal.body LIKE '%"answer"_"done"%')
  AND (journal.kind <> 'soak' OR journal.at >= coalesce((
      SELECT max(at) FROM journal AS w WHERE w.dealer = :dealer AND w.tub = tub.value AND w.kind IN ('fill', 'refill')
        AND (w.kind = 'fill' OR w.body LIKE '%"litres"_null%')), 0))
"""
NEWEST_TESTS = """
SELECT journal.* FROM json_each(:tubs) AS tub JOIN journal ON journal.number = (
    SELECT number FROM journal AS w
    WHERE w.dealer = :dealer AND w.tub = tub.value AND w.kind = 'reading' AND w.body LIKE '%"source"_false%'
    ORDER BY w.at DESC, w.number DESC LIMIT 1)
"""
# Where nobody told of a fill, the first sign of water is when it began.
SIGNS = '["reading", "addition", "soak", "test_wanted"]'
FIRST_SIGNS = """
SELECT journal.* FROM json_each(:tubs) AS tub
CROSS JOIN json_each(:kinds) AS k
JOIN journal ON journal.number = (
    SELECT number FROM journal AS w WHERE w.dealer = :dealer AND w.tub = tub.value AND w.kind = k.value
      AND (w.kind <> 'reading' OR w.body LIKE '%"source"_false%')
    ORDER BY w.at, w.number LIMIT 1)
"""
CORRECTED = """
SELECT DISTINCT tub.value AS tub FROM json_each(:tubs) AS tub
JOIN journal ON journal.dealer = :dealer AND journal.tub = tub.value AND journal.kind = 'correction'
"""
# Safety notices are no reason to leave somebody out of the next reminder.
LAST_BULK = """
SELECT round_rows.person, max(round_rows.at) AS at FROM round_rows INDEXED BY round_rows_person
JOIN rounds ON rounds.dealer = round_rows.dealer AND rounds.key = round_rows.round
WHERE round_rows.dealer = :dealer AND round_rows.person IN (SELECT one.value FROM json_each(:people) AS one)
  AND round_rows.round <> :round AND rounds.kind = 'reminder'
  AND round_rows.state IN ('queued', 'delivered', 'unclear')
GROUP BY round_rows.person
"""


POURED = frozenset({"addition", "started", "supply"})


def poured(db: Unit, dealer: str, after: str, limit: int) -> list[Candidate]:
    """The owners behind a key with what was poured into their tubs."""
    return Reader(db, dealer, "", POURED).page(after, limit)[1]


class Reader:
    """Reads candidates of one dealer for one round. `kinds` are the entries that its criteria look at."""

    def __init__(self, db: Unit, dealer: str, round_key: str, kinds: frozenset[str]) -> None:
        self._db = db
        self._dealer = dealer
        self._round = round_key
        self._kinds = kinds

    def page(self, after: str, limit: int) -> tuple[list[Row], list[Candidate]]:
        """The owners after that key, and each of them with each of their tubs, the tub they came to last first."""
        rows = self._rows(PAGE, {"after": after, "limit": limit})
        tubs: defaultdict[str, list[Tub | None]] = defaultdict(list)
        for row in self._rows(TUBS, {"people": json.dumps([row["key"] for row in rows])}):
            tubs[row["person"]].append(tub_from(row["body"]))
        pairs = [(person_from(row), tub, None, 0.0) for row in rows for tub in tubs[row["key"]] or [None]]
        return rows, self.of(pairs)

    def of(self, pairs: Sequence[tuple[Person, Tub | None, date | None, float]]) -> list[Candidate]:
        """People with a tub, the due date that was told and their place in the round, as candidates."""
        journals = self._journals({tub.key for _, tub, _, _ in pairs if tub})
        bulk = self._last_bulk([person.key for person, _, _, _ in pairs])
        return [
            Candidate(
                person=person,
                tub=tub,
                journal=tuple(journals.get(tub.key, ())) if tub else (),
                last_bulk=None if (at := bulk.get(person.key)) is None else from_ms(at),
                due=due,
                share=share,
            )
            for person, tub, due, share in pairs
        ]

    def _journals(self, tubs: set[str]) -> dict[str, list[Entry]]:
        if not self._kinds or not tubs:
            return {}
        corrected = {row["tub"] for row in self._of_tubs(CORRECTED, tubs)}
        plain = tubs - corrected
        kinds = self._kinds - {"reading"}
        found = list(self._entries(plain, kinds))
        found += self._entries(corrected, self._kinds | {"correction"})
        if "reading" in self._kinds:
            found += map(entry_from, self._of_tubs(NEWEST_TESTS, plain))
        if "fill" in self._kinds:
            filled = {entry.tub for entry in found if entry.fact.kind in ("fill", "refill")}
            found += map(entry_from, self._of_tubs(FIRST_SIGNS, tubs - filled, kinds=SIGNS))
        by_tub: defaultdict[str, dict[str, Entry]] = defaultdict(dict)
        for entry in sorted(found, key=lambda entry: entry.at):
            by_tub[str(entry.tub)][entry.key] = entry
        return {tub: list(entries.values()) for tub, entries in by_tub.items()}

    def _entries(self, tubs: set[str], kinds: frozenset[str]) -> list[Entry]:
        if not tubs or not kinds:
            return []
        rows = self._of_tubs(JOURNAL, tubs, kinds=json.dumps(sorted(kinds)))
        return [entry_from(row) for row in sorted(rows, key=lambda row: (row["at"], row["number"]))]

    def _of_tubs(self, sql: str, tubs: Iterable[str], **values: str) -> list[Row]:
        return self._rows(sql, {"tubs": json.dumps(sorted(tubs)), **values})

    def _last_bulk(self, people: list[str]) -> dict[str, int]:
        rows = self._rows(LAST_BULK, {"people": json.dumps(people), "round": self._round})
        return {row["person"]: row["at"] for row in rows}

    def _rows(self, sql: str, values: Values) -> list[Row]:
        return list(self._db.execute(sql, {"dealer": self._dealer, **values}).fetchall())

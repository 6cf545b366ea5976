"""The statements that run for every message or every tick touch what they need, however much is stored."""

import re
from pathlib import Path

import pytest

from bot.store.sql import dues, house, inbox, journal, keeping, known, outbox, sights, sought
from bot.store.sqlite import SqliteStore

HOT = {
    "inbox_waiting": [inbox.RECEIVE, inbox.NEXT_HEAD],
    "inbox_head": [inbox.OLDEST_FREE],
    "outbox_head": [outbox.READY],
    "outbox_dealer_head": [outbox.READY_OF_DEALER],
    "outbox_chat_head": [outbox.APPEND],
    "outbox_waiting": [outbox.NEXT_HEAD, outbox.CLOSE_CHAT],
    "dues_at": [dues.RIPE],
    "dues_tub": [dues.OPEN],
    "dues_person": [dues.OPEN],
    "journal_tub_at": [journal.AROUND],
    "journal_own_at": [journal.AROUND],
    "journal_tub": [journal.MARK, journal.OF_TUB, journal.AROUND_CASE],
    "journal_own": [journal.MARK],
    "journal_dealer": [journal.OF_DEALER],
    "sqlite_autoindex_open_cases_1": [journal.CASES, sights.CASES],
    "journal_tub_kind": [sights.HEARD, sights.FIRST_TESTS, sights.REMINDED],
    "people_at": [house.PERSON_AT],
    "people_staff": [house.STAFF, sought.TEAM],
    "journal_cases": [sought.CASES],
    "journal_trail": [sought.TRAIL, keeping.ACTED],
    "journal_kept": [keeping.NOTES, keeping.AUDIT, keeping.WITH_FILES, keeping.ENDED],
    "inbox_handled": [keeping.ARRIVALS],
    "outbox_finished": [keeping.PARCELS],
    "links_tub": [house.HOUSEHOLD],
    "sqlite_autoindex_conversations_1": [known.CONVERSATION],
}


async def plan(tmp_path: Path, sql: str) -> list[str]:
    store = SqliteStore(tmp_path / "brimful.db")
    await store.open()
    values = dict.fromkeys(re.findall(r":(\w+)", sql), 1)
    rows = store._file.db.conn.execute(f"EXPLAIN QUERY PLAN {sql}", values).fetchall()
    await store.close()
    return [row["detail"] for row in rows]


@pytest.mark.parametrize(("index", "sql"), [(index, sql) for index, many in HOT.items() for sql in many])
async def test_a_hot_statement_uses_its_index(tmp_path: Path, index: str, sql: str):
    steps = await plan(tmp_path, sql)
    assert any(re.search(rf"INDEX {index}\b", step) for step in steps), steps
    partial = (
        "inbox_head",
        "(subquery",
        "CONSTANT ROW",
        "of_tub",
        "own",
        "newest",
        "VIRTUAL TABLE",
    )  # holds heads only; what was found already; nothing; what was given
    assert not [step for step in steps if step.startswith("SCAN") and not any(word in step for word in partial)]


@pytest.mark.parametrize("sql", [inbox.OLDEST_FREE, outbox.READY, outbox.READY_OF_DEALER, dues.RIPE])
async def test_what_is_taken_in_order_is_not_sorted_first(tmp_path: Path, sql: str):
    assert not [step for step in await plan(tmp_path, sql) if "TEMP B-TREE" in step]

"""A settling that is interrupted anywhere leaves the database as it was, and can be done again."""

import sqlite3
from collections.abc import AsyncIterator, Iterator
from contextlib import closing
from pathlib import Path

import pytest

from bot.model.conversation import Conversation
from bot.model.known import Outcome
from bot.model.person import Invite, digest_of
from bot.store.contract import Contradiction, StoreBroken
from bot.store.sqlite import SqliteStore
from tests.store.contract.rooms import take
from tests.store.samples import (
    ADA,
    BIRCH,
    BO,
    CEDAR,
    NOON,
    NORTH,
    chat,
    due,
    entry,
    later,
    message,
    wrote,
)

DIGEST = digest_of("secret")
EVE = ADA.model_copy(update={"key": "eve", "address": chat("9")})
OUTCOME = Outcome(
    entries=(entry("a"), entry("b", person="eve")),
    people=(EVE, ADA.model_copy(update={"language": "fr"})),
    tubs=(BIRCH.model_copy(update={"volume": 950}),),
    links=(("eve", "birch"),),
    used_invite=(DIGEST, "eve"),
    erase=("bo",),
    conversation=Conversation(serial=1),
    messages=(message("one"), message("two", to="eve", lane="alert")),
    set_dues=(due("new", later(days=1)),),
    cancel_dues=("old",),
)


def dump(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as conn:
        return list(conn.iterdump())


@pytest.fixture
async def store(tmp_path: Path) -> AsyncIterator[SqliteStore]:
    store = SqliteStore(tmp_path / "brimful.db", patience=0)
    await store.open()
    await store.put_dealer(NORTH)
    await store.put("north", [ADA, BO], [CEDAR, BIRCH], [("ada", "cedar"), ("bo", "birch")])
    await store.put_invite(Invite(digest=DIGEST, dealer="north", expires=later(days=9)))
    await store.receive(wrote("0"))
    taken, known = await take(store)
    await store.settle(taken, known, Outcome(set_dues=(due("old", later(days=3)),), entries=(entry("0"),)), NOON)
    await store.receive(wrote("1"))
    yield store
    await store.close()


class Denial:
    """Denies one step and lets all others pass."""

    def __init__(self, passed: int) -> None:
        self._left = passed

    def __call__(self, *_: object) -> int:
        self._left -= 1
        return sqlite3.SQLITE_DENY if self._left == -1 else sqlite3.SQLITE_OK


def tables(path: Path) -> Iterator[str]:
    with closing(sqlite3.connect(path)) as conn:
        yield from [name for (name,) in conn.execute("SELECT name FROM sqlite_master WHERE type = 'table'")]


async def test_a_fault_before_any_of_its_statements_undoes_all_of_it(store: SqliteStore, tmp_path: Path):
    """Deny one step after the other, as SQLite's own authorizer sees them, until none is left to deny."""
    path = tmp_path / "brimful.db"
    taken, known = await take(store)
    before = dump(path)
    conn = store._file.db.conn
    denied = 0
    while True:
        conn.set_authorizer(Denial(denied))
        try:
            await store.settle(taken, known, OUTCOME, NOON)
        except StoreBroken:
            denied += 1
        else:
            break
        finally:
            conn.set_authorizer(None)
        assert not conn.in_transaction
        assert dump(path) == before
    assert denied > 100  # every one of its statements asks several times
    assert dump(path) != before
    assert [kept.key for _, kept in await store.journal("north")] == ["0", "a", "b"]


@pytest.mark.parametrize(
    "table", ["inbox", "journal", "outbox", "dues", "conversations", "people", "tubs", "links", "invites"]
)
async def test_a_table_that_refuses_a_row_undoes_all_of_it(store: SqliteStore, tmp_path: Path, table: str):
    path = tmp_path / "brimful.db"
    taken, known = await take(store)
    with closing(sqlite3.connect(path)) as conn:
        for verb in ("INSERT", "UPDATE", "DELETE"):
            conn.execute(f"CREATE TRIGGER no_{verb} BEFORE {verb} ON {table} BEGIN SELECT RAISE(ABORT, 'no room'); END")
    before = dump(path)
    with pytest.raises(Contradiction):
        await store.settle(taken, known, OUTCOME, NOON)
    assert dump(path) == before
    with closing(sqlite3.connect(path)) as conn:
        for verb in ("INSERT", "UPDATE", "DELETE"):
            conn.execute(f"DROP TRIGGER no_{verb}")
    await store.settle(taken, known, OUTCOME, NOON)
    assert len(await store.journal("north")) == 3


async def test_ripening_moves_all_or_nothing(store: SqliteStore, tmp_path: Path):
    path = tmp_path / "brimful.db"
    with closing(sqlite3.connect(path)) as conn:
        conn.execute("CREATE TRIGGER no BEFORE DELETE ON dues BEGIN SELECT RAISE(ABORT, 'no'); END")
    before = dump(path)
    with pytest.raises(Contradiction):
        await store.ripen(later(days=30))
    assert dump(path) == before


async def test_nothing_stays_open_after_a_call(store: SqliteStore):
    conn = store._file.db.conn
    taken, known = await take(store)
    assert not conn.in_transaction
    await store.settle(taken, known, OUTCOME, NOON)
    assert not conn.in_transaction
    await store.next_parcels("telegram", NOON, 5)
    assert not conn.in_transaction
    await store.ripen(later(days=30))
    assert not conn.in_transaction


async def test_foreign_keys_strict_tables_and_full_sync_are_on(store: SqliteStore, tmp_path: Path):
    conn = store._file.db.conn
    pragma = {
        name: conn.execute(f"PRAGMA {name}").fetchone()[0] for name in ("foreign_keys", "journal_mode", "synchronous")
    }
    assert pragma == {"foreign_keys": 1, "journal_mode": "wal", "synchronous": 2}
    ours = [row for row in conn.execute("PRAGMA table_list") if row["type"] == "table" and row["name"][0] not in "s_"]
    assert len(ours) == 19
    assert all(row["strict"] for row in ours)
    with pytest.raises(sqlite3.IntegrityError):
        conn.execute("INSERT INTO links (dealer, person, tub) VALUES ('north', 'nobody', 'cedar')")
    with pytest.raises(sqlite3.OperationalError, match="no such table"):
        conn.execute("INSERT INTO ownrs (key) VALUES ('x')")
    with pytest.raises(sqlite3.IntegrityError):
        conn.execute("INSERT INTO dues VALUES ('north', 'k', 'timer', 'w', 'ada', NULL, 'tomorrow')")


async def test_every_row_of_a_dealer_carries_the_dealer(store: SqliteStore, tmp_path: Path):
    with closing(sqlite3.connect(tmp_path / "brimful.db")) as conn:
        for table in tables(tmp_path / "brimful.db"):
            columns = {row[1] for row in conn.execute(f"PRAGMA table_info({table})")}
            assert "dealer" in columns or table in {"dealers", "_sqlite_migrations", "sqlite_sequence"}, table

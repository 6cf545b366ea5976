"""A file of every earlier version opens with today's: nothing in it is lost, and the service goes on with it."""

import sqlite3
from contextlib import closing
from pathlib import Path

import pytest
from sqlite_utils import Database, Migrations

from bot.model.conversation import Conversation
from bot.model.known import Outcome
from bot.store.sql.schema import STEPS, statements
from bot.store.sqlite import SqliteStore, schema
from tests.store.contract.rooms import settle
from tests.store.samples import ADA, CEDAR, NOON, NORTH, due, entry, later, message, wrote

VERSIONS = list(STEPS)


def file_of(version: str, path: Path) -> None:
    """A file as that version made it, with somebody in it: its steps alone, and rows of the tables it had."""
    migrations = Migrations("brimful")
    for name in VERSIONS[: VERSIONS.index(version) + 1]:
        migrations(name=name)(_step(STEPS[name]))
    with closing(sqlite3.connect(path, isolation_level=None)) as conn:
        migrations.apply(Database(conn, execute_plugins=False))
        conn.execute(f"PRAGMA application_id = {schema.APPLICATION}")
        conn.execute("PRAGMA foreign_keys = ON")
        ms = int(NOON.timestamp() * 1000)
        rows = [
            ("dealers (key, body)", ("north", NORTH.model_dump_json())),
            (
                "people (dealer, key, role, standing, channel, chat, body)",
                ("north", "ada", "owner", "active", "telegram", "1", ADA.model_dump_json()),
            ),
            ("tubs (dealer, key, body)", ("north", "cedar", CEDAR.model_dump_json())),
            ("links (dealer, person, tub)", ("north", "ada", "cedar")),
            (
                "journal (dealer, key, tub, person, at, via, kind, body)",
                ("north", "old", "cedar", "ada", ms, "telegram", "noted", entry("old").fact.model_dump_json()),
            ),
            (
                "conversations (dealer, channel, chat, version, body)",
                ("north", "telegram", "1", 3, Conversation(serial=7).model_dump_json()),
            ),
            (
                "dues (dealer, key, kind, what, person, tub, at)",
                ("north", "d", "reminder", "test", "ada", "cedar", ms + 86_400_000),
            ),
            (
                "inbox (dealer, channel, chat, update_id, at, body, state, head)",
                ("north", "telegram", "1", "5", ms, wrote("5", "from before").model_dump_json(), "waiting", 1),
            ),
            (
                "outbox (dealer, channel, chat, person, lane, calm, at, body, state, head)",
                ("north", "telegram", "1", "ada", 0, 0, ms, message("waits").model_dump_json(), "waiting", 1),
            ),
        ]
        for into, values in rows:
            conn.execute(f"INSERT INTO {into} VALUES ({', '.join('?' * len(values))})", values)


def _step(script: str):
    def step(db: Database) -> None:
        for statement in statements(script):
            db.execute(statement)

    return step


def rows(path: Path) -> dict[str, list[dict[str, object]]]:
    """What is in each table, by the columns it has."""
    with closing(sqlite3.connect(path)) as conn:
        conn.row_factory = sqlite3.Row
        names = [name for (name,) in conn.execute("SELECT name FROM sqlite_schema WHERE type = 'table'")]
        return {
            name: [dict(row) for row in conn.execute(f"SELECT * FROM {name}")] for name in names if "sqlite" not in name
        }


def shape(path: Path) -> set[str]:
    """The schema, without what depends on how a table came about."""
    with closing(sqlite3.connect(path)) as conn:
        found = conn.execute(
            "SELECT name FROM sqlite_schema WHERE type IN ('table', 'index') AND name NOT LIKE 'sqlite%'"
        )
        names = {name for (name,) in found}
        columns = {
            f"{table}.{row[1]} {row[2]} {row[3]} {row[5]}"
            for table in names
            for row in conn.execute(f"PRAGMA table_info({table})")
        }
    return names | columns


@pytest.mark.parametrize("version", VERSIONS)
async def test_a_file_of_an_earlier_version_keeps_every_row_and_goes_on(tmp_path: Path, version: str):
    path, fresh = tmp_path / "old.db", tmp_path / "fresh.db"
    file_of(version, path)
    before = rows(path)
    store = SqliteStore(path)
    await store.open()
    after = rows(path)
    for table, kept in before.items():
        assert [{name: row[name] for name in old} for old, row in zip(kept, after[table], strict=True)] == kept, table
    await store.take_over()
    assert [one.key for _, one in await store.journal("north")] == ["old"]
    taken = await store.take(NOON)
    assert taken is not None
    known = await store.known(taken.arrival)
    assert (known.person, known.tub, known.conversation.serial) == (ADA, CEDAR, 7)
    await store.settle(taken, known, Outcome(entries=(entry("new"),), set_dues=(due("e", later(days=2)),)), NOON)
    await settle(store, "6", Outcome(messages=(message("more"),)))
    assert [parcel.message.text for parcel in await store.next_parcels("telegram", NOON, 5)] == ["waits"]
    assert await store.ripen(later(days=3)) == 2
    await store.close()
    newest = SqliteStore(fresh)
    await newest.open()
    await newest.close()
    assert shape(path) == shape(fresh)


@pytest.mark.parametrize("version", VERSIONS)
async def test_an_upgrade_that_is_cut_short_leaves_the_file_as_it_was(
    tmp_path: Path, version: str, monkeypatch: pytest.MonkeyPatch
):
    path = tmp_path / "old.db"
    file_of(version, path)
    before = rows(path)

    def dies(db: Database) -> None:
        db.execute("CREATE TABLE half (x)")
        raise KeyboardInterrupt

    later_ones = Migrations("brimful")
    for name in VERSIONS:
        later_ones(name=name)(_step(STEPS[name]))
    later_ones(name="m999_half")(dies)
    monkeypatch.setattr(schema, "MIGRATIONS", later_ones)
    with pytest.raises(KeyboardInterrupt):
        await SqliteStore(path).open()
    assert rows(path) == before

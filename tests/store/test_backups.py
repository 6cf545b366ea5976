"""Backups of real files: made while somebody writes, checked, put back, and never mistaken for whole."""

import asyncio
import os
import sqlite3
import stat
import subprocess
import sys
from contextlib import closing
from datetime import timedelta
from pathlib import Path

import pytest

from bot.command.backup import main as backup_command
from bot.command.restore import main as restore_command
from bot.model.known import Outcome
from bot.store.contract import StoreBroken
from bot.store.sqlite import SqliteStore
from bot.store.sqlite.backup import back_up, backups_in, examine, made_at, prune
from bot.store.sqlite.restore import restore
from tests.store.contract.rooms import settle, take
from tests.store.samples import ADA, BO, CEDAR, NOON, NORTH, due, entry, later, message, wrote
from tests.store.test_sqlite_killed import LOAD

DAY = timedelta(days=1)


async def opened(path: Path) -> SqliteStore:
    store = SqliteStore(path, patience=0.05)
    await store.open()
    await store.put_dealer(NORTH)
    return store


async def lived_in(path: Path, updates: int = 200) -> SqliteStore:
    """A database with people, facts and messages, some of them waiting; open."""
    store = await opened(path)
    await store.put("north", [ADA, BO], [CEDAR], [("ada", "cedar")])
    for number in range(updates):
        outcome = Outcome(
            entries=(entry(f"e{number}"),),
            messages=(message(f"m{number}"),),
            set_dues=(due(f"d{number}", later(days=number + 1)),),
        )
        await settle(store, f"u{number}", outcome)
    return store


async def made_and_closed(path: Path) -> None:
    await (await lived_in(path)).close()


def damage(path: Path) -> None:
    """Overwrite a page in the middle, as a failing disk would."""
    middle = path.stat().st_size // 4096 // 2
    with path.open("r+b") as file:
        file.seek(4096 * middle)
        file.write(b"\xa5" * 4096)


def dump(path: Path) -> list[str]:
    with closing(sqlite3.connect(path)) as conn:
        return list(conn.iterdump())


async def test_a_backup_holds_every_row_as_it_was(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = await lived_in(path)
    made = back_up(path, tmp_path, NOON)
    assert made.path.name == "brimful-20270301T120000Z.sqlite3"
    assert made_at(made.path) == NOON
    assert made.rows == sum(examine(path).values())
    assert dump(made.path) == dump(path)
    assert stat.S_IMODE(made.path.stat().st_mode) == 0o600
    assert {file.suffix for file in tmp_path.iterdir() if file.name.startswith("brimful-2027")} == {".sqlite3"}
    await store.close()


def test_a_backup_made_while_the_database_is_written_to_is_of_one_instant(tmp_path: Path):
    path = tmp_path / "brimful.db"
    writer = subprocess.Popen([sys.executable, "-c", LOAD, str(path), "1"], stdout=subprocess.PIPE, text=True)
    assert writer.stdout is not None
    try:
        seen = []
        for minute in range(5):
            said = writer.stdout.readline()
            made = back_up(path, tmp_path, later(minutes=minute))
            with closing(sqlite3.connect(made.path)) as conn:
                assert conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
                done = {n for (n,) in conn.execute("SELECT update_id FROM inbox WHERE state = 'done'")}
                assert {key for (key,) in conn.execute("SELECT key FROM journal")} == done
                assert {key for (key,) in conn.execute("SELECT key FROM dues")} == done
                if said.startswith("settled"):
                    assert said.split()[1] in done
            seen.append(len(done))
        assert seen == sorted(seen)
    finally:
        writer.kill()
        writer.communicate()


async def test_of_a_damaged_database_no_backup_is_made_and_the_older_ones_stay(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    path, folder = tmp_path / "brimful.db", tmp_path / "kept"
    folder.mkdir()
    await (await lived_in(path)).close()
    older = back_up(path, folder, NOON).path
    damage(path)
    monkeypatch.setenv("BRIMFUL_DATABASE", str(path))
    assert await asyncio.to_thread(backup_command, [str(folder), "--keep", "1"]) == 1
    assert "damaged" in capsys.readouterr().err
    assert list(folder.iterdir()) == [older]


async def test_damage_is_found_at_the_start_and_one_command_restores_the_last_whole_backup(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    path, folder = tmp_path / "brimful.db", tmp_path / "kept"
    folder.mkdir()
    await (await lived_in(path)).close()
    whole = back_up(path, folder, NOON).path
    damage(back_up(path, folder, NOON + DAY).path)
    kept = await asyncio.to_thread(dump, whole)
    damage(path)
    broken = SqliteStore(path)
    with pytest.raises(StoreBroken, match="damaged; restore the last backup with `brimful restore`"):
        await start(broken)
    await broken.close()
    monkeypatch.setenv("BRIMFUL_DATABASE", str(path))
    monkeypatch.setenv("BRIMFUL_BACKUPS", str(folder))
    assert await asyncio.to_thread(restore_command, []) == 0
    said = capsys.readouterr()
    assert "passed over" in said.err
    assert str(whole) in said.out
    store = SqliteStore(path)
    await start(store)
    assert len(await store.journal("north")) == 200
    await store.close()
    assert [line for line in dump(path) if "journal" in line] == [line for line in kept if "journal" in line]
    aside = [file for file in tmp_path.iterdir() if ".replaced-" in file.name]
    assert aside
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


async def start(store: SqliteStore) -> None:
    await store.open()
    await store.take_over()


async def test_nothing_is_restored_while_a_service_runs(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = await lived_in(path, 1)
    backup = back_up(path, tmp_path, NOON).path
    await store.take_over()
    before = sorted(file.name for file in tmp_path.iterdir())
    with pytest.raises(StoreBroken, match="another Brimful is running on this database; stop it first"):
        await restore(path, backup, NOON)
    assert sorted(file.name for file in tmp_path.iterdir()) == before
    await store.close()


async def test_what_waited_in_the_backup_may_have_been_sent_since(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = await opened(path)
    await store.put("north", [ADA], [CEDAR], [("ada", "cedar")])
    await settle(store, "1", Outcome(messages=(message("add 20 g"),)))
    backup = back_up(path, tmp_path, NOON).path
    await store.close()
    await restore(path, backup, NOON)
    store = await opened(path)
    (parcel,) = await store.next_parcels("telegram", NOON, 5)
    assert parcel.doubts == 1
    await store.close()


async def test_who_was_erased_since_the_backup_is_erased_again(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = await lived_in(path, 5)
    backup = back_up(path, tmp_path, NOON).path
    await store.receive(wrote("bye"))
    taken, known = await take(store)
    await store.settle(taken, known, Outcome(erase=("ada",)), NOON)
    await store.close()
    assert (await restore(path, backup, NOON)).erased == 1
    store = await opened(path)
    ada = await store.person("north", "ada")
    assert ada is not None
    assert (ada.standing, ada.name) == ("erased", "")
    await store.close()


async def test_a_restore_that_was_cut_short_can_be_done_again(tmp_path: Path):
    path = tmp_path / "brimful.db"
    await (await lived_in(path, 5)).close()
    backup = back_up(path, tmp_path, NOON).path
    path.rename(path.with_name("brimful.db.replaced-20270301T110000Z"))
    path.with_name("brimful.db.part").write_bytes(b"half")
    done = await restore(path, backup, NOON)
    assert done.aside is None
    assert sum(examine(path).values()) == done.rows


@pytest.mark.parametrize("what", ["text", "foreign", "newer", "missing"])
async def test_what_is_no_backup_of_ours_is_refused_and_nothing_changes(tmp_path: Path, what: str):
    path, other = tmp_path / "brimful.db", tmp_path / "other.db"
    await (await lived_in(path, 1)).close()
    if what == "text":
        other.write_text("Dear Ada, " * 1000)
    elif what == "foreign":
        with closing(sqlite3.connect(other)) as conn:
            conn.execute("CREATE TABLE wines (name TEXT)")
    elif what == "newer":
        await (await opened(other)).close()
        with closing(sqlite3.connect(other)) as conn, conn:
            conn.execute(
                "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('brimful','m999','')"
            )
    before = path.read_bytes()
    with pytest.raises(StoreBroken, match=r"not a database|not a Brimful database|newer version|no such file"):
        await restore(path, other, NOON)
    assert path.read_bytes() == before


def test_only_the_newest_backups_are_kept_and_other_files_are_left_alone(tmp_path: Path):
    for day in range(1, 6):
        (tmp_path / f"brimful-2027030{day}T020000Z.sqlite3").touch()
    (tmp_path / "brimful-mine.sqlite3").touch()
    assert [path.name[8:16] for path in prune(tmp_path, 2)] == ["20270303", "20270302", "20270301"]
    assert [path.name[8:16] for path in backups_in(tmp_path)] == ["20270305", "20270304"]
    assert (tmp_path / "brimful-mine.sqlite3").exists()


def test_a_postgresql_database_is_said_to_have_tools_of_its_own(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    monkeypatch.setenv("BRIMFUL_DATABASE", "postgresql://brimful@127.0.0.1/brimful")
    assert backup_command(["/tmp"]) == 2
    assert "pg_dump --format=custom" in capsys.readouterr().err
    assert restore_command(["/tmp"]) == 2
    assert "pg_restore" in capsys.readouterr().err


def test_where_the_disk_is_too_full_for_a_backup_nothing_of_it_is_left(tmp_path: Path):
    path, folder = tmp_path / "brimful.db", tmp_path / "kept"
    folder.mkdir()
    asyncio.run(made_and_closed(path))
    script = (
        "import resource, sys; resource.setrlimit(resource.RLIMIT_FSIZE, (100_000, 100_000));"
        "from bot.command.backup import main; sys.exit(main(sys.argv[1:]))"
    )
    environment = {**os.environ, "BRIMFUL_DATABASE": str(path)}
    done = subprocess.run(
        [sys.executable, "-c", script, str(folder)], env=environment, capture_output=True, text=True, check=False
    )
    assert done.returncode == 1
    assert "space" in done.stderr
    assert "Traceback" not in done.stderr
    assert list(folder.iterdir()) == []

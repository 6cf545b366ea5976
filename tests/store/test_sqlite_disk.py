"""A disk that fills up, may not be written, or is held by somebody: said in words, nothing lost, and on it goes."""

import shutil
import sqlite3
import subprocess
import sys
import tempfile
from contextlib import closing
from pathlib import Path

import pytest

from bot.store.contract import StoreBroken
from bot.store.sqlite import SqliteStore
from tests.store.samples import NORTH, wrote

FILLING = """
import asyncio, resource, sys
from bot.store.contract import StoreBroken
from bot.store.sqlite import SqliteStore
from tests.store.samples import *

async def main():
    store = SqliteStore(sys.argv[1])
    await store.open()
    await store.put_dealer(NORTH)
    most = resource.getrlimit(resource.RLIMIT_FSIZE)[1]
    resource.setrlimit(resource.RLIMIT_FSIZE, (1_500_000, most))
    for number in range(10**6):
        try:
            await store.receive(wrote(str(number), at=str(number % 3)))
        except StoreBroken as broken:
            print("refused", broken)
            break
        print("kept", number)
    resource.setrlimit(resource.RLIMIT_FSIZE, (most, most))
    await store.receive(wrote("there is room again"))
    await store.close()
asyncio.run(main())
"""
DENIED = """
import asyncio, os, sys
from bot.store.contract import StoreBroken
from bot.store.sqlite import SqliteStore
from tests.store.samples import *

if os.geteuid() == 0:
    os.setgroups([])
    os.setgid(65534)
    os.setuid(65534)

async def main():
    store = SqliteStore(sys.argv[1])
    try:
        await store.open()
        await store.receive(wrote("1"))
    except StoreBroken as broken:
        print(broken)
asyncio.run(main())
"""


def test_on_a_disk_that_is_full_what_was_kept_stays_and_it_goes_on_once_there_is_room(tmp_path: Path):
    path = tmp_path / "brimful.db"
    done = subprocess.run([sys.executable, "-c", FILLING, path], capture_output=True, text=True, check=True)
    lines = done.stdout.splitlines()
    kept = [line.split()[1] for line in lines if line.startswith("kept")]
    assert len(kept) > 50
    assert "space left" in lines[-1] or "disk is full" in lines[-1]
    with closing(sqlite3.connect(path)) as conn:
        assert conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        assert [update for (update,) in conn.execute("SELECT update_id FROM inbox ORDER BY number")] == [
            *kept,
            "there is room again",
        ]


async def test_a_file_that_may_only_be_read_is_said_in_words(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = SqliteStore(path)
    await store.open()
    await store.put_dealer(NORTH)
    await store.close()
    assert "may be written" in said_to_somebody_else(path) or "check the rights" in said_to_somebody_else(path)


def said_to_somebody_else(path: Path) -> str:
    """What one hears who may read the file and the folder and write neither."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        copy = folder / "brimful.db"
        shutil.copyfile(path, copy)
        copy.chmod(0o444)
        folder.chmod(0o555)
        done = subprocess.run([sys.executable, "-c", DENIED, copy], capture_output=True, text=True, check=False)
        folder.chmod(0o700)
    assert "Traceback" not in done.stderr
    return done.stdout


async def test_a_database_that_turns_read_only_refuses_and_goes_on_afterwards(tmp_path: Path):
    store = SqliteStore(tmp_path / "brimful.db", patience=0)
    await store.open()
    await store.put_dealer(NORTH)
    conn = store._file.db.conn
    conn.execute("PRAGMA query_only = ON")
    with pytest.raises(StoreBroken, match="cannot be written; check the rights"):
        await store.receive(wrote("1"))
    conn.execute("PRAGMA query_only = OFF")
    assert await store.receive(wrote("1"))
    await store.close()


async def test_a_file_that_another_program_holds_is_waited_for_and_then_said(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = SqliteStore(path, patience=0.02)
    await store.open()
    await store.put_dealer(NORTH)
    with closing(sqlite3.connect(path, isolation_level=None)) as other:
        other.execute("BEGIN IMMEDIATE")
        with pytest.raises(StoreBroken, match="another program holds the database"):
            await store.receive(wrote("1"))
        other.execute("ROLLBACK")
    assert await store.receive(wrote("1"))
    await store.close()

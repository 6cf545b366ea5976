import os
import sqlite3
import stat
from contextlib import closing
from pathlib import Path

import pytest

from bot.model.known import Outcome
from bot.store.contract import StoreBroken
from bot.store.sqlite import SqliteStore
from tests.store.contract.erasing import SECRET, live
from tests.store.contract.rooms import send_all, take
from tests.store.samples import ADA, BO, CEDAR, NOON, NORTH, later, wrote


async def opened(path: Path) -> SqliteStore:
    store = SqliteStore(path, patience=0.05)
    await store.open()
    return store


async def test_only_its_owner_may_read_the_files(tmp_path: Path):
    path = tmp_path / "brimful.db"
    before = os.umask(0)
    try:
        store = await opened(path)
        await store.take_over()
        await store.put_dealer(NORTH)
    finally:
        os.umask(before)
    files = list(tmp_path.iterdir())
    assert len(files) >= 3
    assert {stat.S_IMODE(file.stat().st_mode) for file in files} == {0o600}
    await store.close()


async def test_a_file_that_was_open_to_others_is_closed_to_them(tmp_path: Path):
    path = tmp_path / "brimful.db"
    await (await opened(path)).close()
    path.chmod(0o644)
    await (await opened(path)).close()
    assert stat.S_IMODE(path.stat().st_mode) == 0o600


async def test_a_database_of_somebody_else_is_refused_and_left_as_it_was(tmp_path: Path):
    path = tmp_path / "cellar.db"
    with closing(sqlite3.connect(path)) as conn:
        conn.execute("CREATE TABLE wines (name TEXT)")
    path.chmod(0o640)
    before = path.read_bytes()
    with pytest.raises(StoreBroken, match=r"cellar\.db is not a Brimful database; give another path"):
        await opened(path)
    assert path.read_bytes() == before
    assert stat.S_IMODE(path.stat().st_mode) == 0o640
    assert [file.name for file in tmp_path.iterdir()] == ["cellar.db"]


async def test_a_file_that_is_no_database_is_refused_and_left_as_it_was(tmp_path: Path):
    path = tmp_path / "letter.txt"
    path.write_text("Dear Ada, " * 200)
    with pytest.raises(StoreBroken, match=r"letter\.txt is not a Brimful database"):
        await opened(path)
    assert path.read_text().startswith("Dear Ada, ")


async def test_a_database_of_a_newer_version_is_refused(tmp_path: Path):
    path = tmp_path / "brimful.db"
    await (await opened(path)).close()
    with closing(sqlite3.connect(path)) as conn, conn:
        conn.execute(
            "INSERT INTO _sqlite_migrations (migration_set, name, applied_at) VALUES ('brimful', 'm999_future', '')"
        )
    with pytest.raises(StoreBroken, match="written by a newer version of Brimful"):
        await opened(path)


async def test_a_missing_folder_is_named(tmp_path: Path):
    with pytest.raises(StoreBroken, match=r"there is no folder .*nowhere; make it"):
        await opened(tmp_path / "nowhere" / "brimful.db")


async def test_a_folder_in_the_file_s_place_is_named(tmp_path: Path):
    with pytest.raises(StoreBroken, match="Is a directory; check the rights"):
        await opened(tmp_path)


async def test_an_empty_file_becomes_a_database(tmp_path: Path):
    path = tmp_path / "brimful.db"
    path.touch()
    store = await opened(path)
    assert await store.dealers() == []
    await store.close()


async def test_a_damaged_page_is_said_in_words(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = await opened(path)
    await store.put_dealer(NORTH)
    for number in range(2000):
        await store.receive(wrote(str(number)))
    await store.close()
    size = path.stat().st_size
    with path.open("r+b") as file:
        file.seek(4096)
        file.write(b"\xa5" * (size - 4096))
    store = SqliteStore(path)

    async def use() -> None:
        await store.open()
        await store.take(NOON)

    with pytest.raises(StoreBroken, match="damaged; restore the last backup"):
        await use()
    await store.close()


async def test_a_store_that_is_not_open_says_so(tmp_path: Path):
    with pytest.raises(StoreBroken, match="not open"):
        await SqliteStore(tmp_path / "brimful.db").dealers()


async def test_only_one_service_runs_on_a_database(tmp_path: Path):
    path = tmp_path / "brimful.db"
    first, second = await opened(path), await opened(path)
    await first.take_over()
    await first.take_over()
    with pytest.raises(StoreBroken, match=r"brimful\.db: another Brimful is running on this database; stop it first"):
        await second.take_over()
    await second.put_dealer(NORTH)  # other programs may still write
    await first.close()
    await second.take_over()
    await second.close()


async def test_the_log_is_emptied_when_tidying(tmp_path: Path):
    path = tmp_path / "brimful.db"
    store = await opened(path)
    await store.put_dealer(NORTH)
    for number in range(500):
        await store.receive(wrote(str(number)))
    log = path.with_name(path.name + "-wal")
    assert log.stat().st_size > 100_000
    await store.tidy(NOON)
    assert log.stat().st_size == 0
    await store.close()


async def test_not_a_byte_of_an_erased_person_s_words_is_left_in_the_files(tmp_path: Path):
    store = await opened(tmp_path / "brimful.db")
    await store.put_dealer(NORTH)
    await store.put("north", [ADA, BO], [CEDAR], [("ada", "cedar")])
    await live(store)
    await send_all(store)
    taken, known = await take(store)
    assert any(SECRET.encode() in file.read_bytes() for file in tmp_path.iterdir())
    await store.settle(taken, known, Outcome(erase=("ada",)), NOON)
    await store.tidy(later(days=-1))
    await store.close()
    for file in tmp_path.iterdir():
        assert SECRET.encode() not in file.read_bytes(), file.name

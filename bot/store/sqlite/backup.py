"""Backups of a database file: made while it is in use, counted as backups only after they were checked."""

import os
import re
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from bot.store.contract import StoreBroken
from bot.store.sqlite import schema
from bot.store.sqlite.database import faults_of, in_words, make_private
from bot.store.sqlite.together import transaction

STAMP = "%Y%m%dT%H%M%SZ"
_NAME = re.compile(r"brimful-(\d{8}T\d{6}Z)\.sqlite3")


class Backup(NamedTuple):
    """A backup that was checked: every row of every table is in it."""

    path: Path
    rows: int
    bytes: int


def back_up(source: Path, folder: Path, now: datetime) -> Backup:
    """Copy the database as it is at one instant, whoever writes to it meanwhile.

    Page by page, not by VACUUM INTO, which would number anew the rows whose order no column holds. StoreBroken where
    the copy is not whole or cannot be written; then nothing of it is left.
    """
    if not source.is_file():
        raise StoreBroken(f"{source}: there is no database to back up; check BRIMFUL_DATABASE")
    target = folder / f"brimful-{now.astimezone(UTC):{STAMP}}.sqlite3"
    with new_file(target) as part:
        try:
            counted = _copy(source, part)
        except sqlite3.Error as error:
            raise in_words(source, error) from error
        if examine(part) != counted:
            raise StoreBroken(f"{source}: not every row arrived in the backup; try again")
    return Backup(target, sum(counted.values()), target.stat().st_size)


def _copy(source: Path, part: Path) -> dict[str, int]:
    """Copy the pages; returns how many rows each table had at that instant."""
    with closing(_reading(source)) as conn, transaction(conn, "BEGIN"):
        counted = _count(conn)
        with closing(sqlite3.connect(part)) as copy:
            conn.backup(copy)
            copy.execute("PRAGMA journal_mode = DELETE")
        return counted


def examine(path: Path) -> dict[str, int]:
    """Read every page of a database of ours; returns how many rows each table has. StoreBroken where it is damaged,
    somebody else's, or written by a newer version.
    """
    try:
        with closing(_reading(path)) as conn:
            _check_ours(path, conn)
            if faults := faults_of(conn):
                raise StoreBroken(f"{path}: the file is damaged ({'; '.join(faults)}); take an older backup")
            return _count(conn)
    except sqlite3.Error as error:
        raise in_words(path, error) from error


def backups_in(folder: Path) -> list[Path]:
    """The backups in a folder by their names, the newest first; nothing else that lies there."""
    return sorted((path for path in folder.glob("brimful-*.sqlite3") if _NAME.fullmatch(path.name)), reverse=True)


def made_at(backup: Path) -> datetime:
    """When a backup was made, by its name."""
    found = _NAME.fullmatch(backup.name)
    if found is None:
        raise ValueError(f"{backup.name} is not the name of a backup")
    return datetime.strptime(found[1], STAMP).replace(tzinfo=UTC)


def prune(folder: Path, keep: int) -> list[Path]:
    """Remove all but the newest `keep` backups; returns those that went."""
    gone = backups_in(folder)[keep:]
    for path in gone:
        path.unlink()
    return gone


@contextmanager
def new_file(target: Path) -> Iterator[Path]:
    """A private file to fill, which takes the target's place once it is filled and on the disk, and is gone otherwise.

    It belongs to whom the folder belongs to, so that an administrator can make it for the service.
    """
    part = target.with_name(target.name + ".part")
    try:
        part.unlink(missing_ok=True)
        make_private(part)
        yield part
        _own(part)
        _sync(part)
        part.replace(target)
        _sync(target.parent)
    except OSError as error:
        raise StoreBroken(f"{target}: {error.strerror}; check the folder, its rights and the space left") from error
    finally:
        for leftover in (part, *side_files(part)):
            leftover.unlink(missing_ok=True)


def side_files(path: Path) -> tuple[Path, Path]:
    """The write-ahead log of a database and its index."""
    return path.with_name(path.name + "-wal"), path.with_name(path.name + "-shm")


def _own(path: Path) -> None:
    if os.name == "posix" and os.geteuid() == 0:
        folder = path.parent.stat()
        os.chown(path, folder.st_uid, folder.st_gid)


def _sync(path: Path) -> None:
    """Have the disk keep a file, or the names in a folder, before going on."""
    if os.name != "posix":
        return
    number = os.open(path, os.O_RDONLY)
    try:
        os.fsync(number)
    finally:
        os.close(number)


def _reading(path: Path) -> sqlite3.Connection:
    if not path.is_file():
        raise StoreBroken(f"{path}: there is no such file; give the path of a backup")
    return sqlite3.connect(f"{path.absolute().as_uri()}?mode=ro", uri=True, isolation_level=None, timeout=5.0)


def _check_ours(path: Path, conn: sqlite3.Connection) -> None:
    (mark,) = conn.execute("PRAGMA application_id").fetchone()
    if mark != schema.APPLICATION:
        raise StoreBroken(f"{path} is not a Brimful database; give the path of a backup")
    steps = {name for (name,) in conn.execute("SELECT name FROM _sqlite_migrations WHERE migration_set = 'brimful'")}
    if newer := steps - set(schema.known_names()):
        raise StoreBroken(f"{path} was written by a newer version of Brimful ({min(newer)}); install that version")


def _count(conn: sqlite3.Connection) -> dict[str, int]:
    names = [
        name
        for (name,) in conn.execute("SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%'")
    ]
    return {name: conn.execute(f'SELECT count(*) FROM "{name}"').fetchone()[0] for name in names}  # noqa: S608 - the schema's

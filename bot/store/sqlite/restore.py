"""Putting a backup in the place of a database file, in one step that can be taken again if it is cut short."""

import logging
import shutil
import sqlite3
from contextlib import closing
from datetime import UTC, datetime
from pathlib import Path
from typing import NamedTuple

from bot.store.contract import StoreBroken
from bot.store.sql.erasure import erase
from bot.store.sql.records import to_ms
from bot.store.sqlite.backup import STAMP, examine, new_file, side_files
from bot.store.sqlite.database import Claim, File

log = logging.getLogger(__name__)

# What waited to be sent when the backup was made may have been sent since: an attempt that may have arrived.
MAY_HAVE_LEFT = "UPDATE outbox SET doubts = doubts + 1 WHERE state = 'waiting'"
ERASED = "SELECT dealer, key FROM people WHERE standing = 'erased'"


class Restored(NamedTuple):
    """What came of it."""

    rows: int
    aside: Path | None
    """The file that was in use until now; None where there was none."""
    erased: int | None
    """How many people who are erased in that file were erased again; None where that could not be read."""


async def restore(database: Path, backup: Path, now: datetime) -> Restored:
    """Put a backup in the place of the database, which stays beside it under another name.

    StoreBroken, with nothing changed, where a service runs on the database or the backup is not whole.
    """
    examine(backup)
    claim = Claim(database)
    claim.take()
    try:
        with new_file(database) as part:
            shutil.copyfile(backup, part)
            gone = _erased(database)
            await _make_current(part, gone or [], to_ms(now))
            rows = sum(examine(part).values())
            aside = _set_aside(database, now)
    finally:
        claim.give_back()
    return Restored(rows, aside, None if gone is None else len(gone))


async def _make_current(part: Path, gone: list[tuple[str, str]], now: int) -> None:
    file = File(part)
    await file.open()
    try:
        with file.unit(writes=True) as db:
            db.execute(MAY_HAVE_LEFT)
            for dealer, key in gone:
                erase(db, dealer, key, now)
        file.checkpoint()
    finally:
        file.close()


def _erased(database: Path) -> list[tuple[str, str]] | None:
    """Who is erased in the database in use, as far as it can still be read."""
    cut_short = sorted(database.parent.glob(f"{database.name}.replaced-*Z"))
    place = database if database.is_file() else next(reversed(cut_short), None)
    if place is None:
        return []
    try:
        with closing(sqlite3.connect(f"{place.absolute().as_uri()}?mode=ro", uri=True)) as conn:
            return [(dealer, key) for dealer, key in conn.execute(ERASED)]
    except sqlite3.Error as error:
        log.debug("%s: who was erased cannot be read: %s", place, error)
        return None


def _set_aside(database: Path, now: datetime) -> Path | None:
    """Move the database out of the way, its log after it: a log without its database is no harm, the other way round
    it would be taken for the new one's.
    """
    aside = database.with_name(f"{database.name}.replaced-{now.astimezone(UTC):{STAMP}}")
    if aside.exists():
        raise StoreBroken(f"{aside} exists already; try again in a second")
    moved = database.exists()
    for old, new in zip((database, *side_files(database)), (aside, *side_files(aside)), strict=True):
        if old.exists():
            old.rename(new)
    return aside if moved else None

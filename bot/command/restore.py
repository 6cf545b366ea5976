"""`brimful restore`: a backup in the place of the database."""

import argparse
import asyncio
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.command.backup import place_of
from bot.run.clock import WallClock
from bot.settings import BadSettings, Settings
from bot.store.contract import StoreBroken
from bot.store.sqlite.backup import backups_in, examine
from bot.store.sqlite.restore import Restored, restore

POSTGRES_WORDS = (
    "the database is PostgreSQL, which has a tool of its own: pg_restore into a new database; see deploy/RUNBOOK.md"
)


def main(argv: Sequence[str]) -> int:
    """Restore a backup. 0 when it is done, 1 where it could not be, 2 where something is wrong to ask."""
    parser = argparse.ArgumentParser(
        prog="brimful restore",
        description="Put a backup in the place of the database (BRIMFUL_DATABASE). The service must be stopped. The "
        "file that was in use stays beside it under another name.",
    )
    parser.add_argument(
        "backup", nargs="?", type=Path, help="a backup, or a folder whose newest whole one is taken (BRIMFUL_BACKUPS)"
    )
    options = parser.parse_args(argv)
    try:
        settings = Settings.read()
        place = place_of(settings, options.backup, POSTGRES_WORDS)
    except BadSettings as wrong:
        print(f"brimful restore: {wrong}", file=sys.stderr)
        return 2
    try:
        backup = _newest_whole(place) if place.is_dir() else place
        done = asyncio.run(restore(Path(settings.database), backup, WallClock().now()))
    except StoreBroken as broken:
        print(f"brimful restore: {broken}", file=sys.stderr)
        return 1
    print(_said(backup, settings.database, done))
    return 0


def _newest_whole(folder: Path) -> Path:
    """The newest backup that is whole; those passed over are named."""
    for backup in backups_in(folder):
        try:
            examine(backup)
        except StoreBroken as broken:
            print(f"brimful restore: passed over: {broken}", file=sys.stderr)
        else:
            return backup
    raise StoreBroken(f"{folder}: there is no whole backup here; give another folder or file")


def _said(backup: Path, database: str, done: Restored) -> str:
    lines = [f"{backup} is now {database}: {done.rows} rows."]
    if done.aside:
        lines.append(f"What was in use is {done.aside}; remove it when nobody needs it.")
    if done.erased is None:
        lines.append("It cannot be read who was erased since the backup: erase them again (brimful person erase).")
    elif done.erased:
        lines.append(f"{done.erased} people who had been erased were erased again.")
    return "\n".join(lines)

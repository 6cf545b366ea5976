"""`brimful backup`: a copy of the database while it is in use, checked before it counts."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.run.clock import WallClock
from bot.settings import BadSettings, Settings
from bot.store.contract import POSTGRES, StoreBroken
from bot.store.sqlite.backup import back_up, prune

KEEP = 14
POSTGRES_WORDS = (
    "the database is PostgreSQL, which has a tool of its own: "
    "pg_dump --format=custom --file=brimful.dump brimful; see deploy/RUNBOOK.md"
)


def main(argv: Sequence[str]) -> int:
    """Back the database up. 0 when it is done and checked, 1 where that failed, 2 where something is wrong to ask."""
    options = _parser().parse_args(argv)
    try:
        settings = Settings.read()
        folder = place_of(settings, options.folder, POSTGRES_WORDS)
        keep = _keep(options.keep)
    except BadSettings as wrong:
        print(f"brimful backup: {wrong}", file=sys.stderr)
        return 2
    try:
        folder.mkdir(mode=0o700, parents=True, exist_ok=True)
        made = back_up(Path(settings.database), folder, WallClock().now())
        gone = prune(folder, keep)
    except OSError as error:
        print(f"brimful backup: {folder}: {error.strerror}; give a folder that can be written", file=sys.stderr)
        return 1
    except StoreBroken as broken:
        print(f"brimful backup: {broken}", file=sys.stderr)
        return 1
    print(f"{made.path}: {made.rows} rows, {made.bytes / 1e6:.1f} MB, whole" + (f"; {len(gone)} old gone" * bool(gone)))
    return 0


def place_of(settings: Settings, given: Path | None, postgres_words: str) -> Path:
    """Where backups of the database are: as given, or as set. BadSettings where there can be none."""
    if settings.database.startswith(POSTGRES):
        raise BadSettings(postgres_words)
    place = given or settings.backups
    if place is None:
        raise BadSettings("say where backups are kept, here or as BRIMFUL_BACKUPS")
    return place


def _keep(number: int) -> int:
    if not 1 <= number <= 10_000:
        raise BadSettings(f"--keep {number}: keep 1 to 10000 backups")
    return number


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brimful backup",
        description="Copy the database as it is at this instant, while the service runs, and check the copy: every "
        "page is read, every row counted. Older backups than the newest so many are removed after that.",
    )
    parser.add_argument("folder", nargs="?", type=Path, help="where backups are kept (default: BRIMFUL_BACKUPS)")
    parser.add_argument("--keep", type=int, default=KEEP, help=f"how many are kept (default {KEEP})")
    return parser

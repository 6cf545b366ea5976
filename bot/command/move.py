"""`brimful move`: everything from one database into another, checked row for row."""

import argparse
import asyncio
import sys
from collections.abc import Sequence

from psycopg.conninfo import conninfo_to_dict

from bot.app import open_store
from bot.settings import BadSettings, Settings
from bot.store.contract import POSTGRES, StoreBroken
from bot.store.sql.move import move


def main(argv: Sequence[str]) -> int:
    """Move a database. Returns the exit code."""
    parser = argparse.ArgumentParser(
        prog="brimful move",
        description="Copy everything from the database that is in use (BRIMFUL_DATABASE) into another, empty one, and "
        "compare every row. The service must be stopped. Afterwards set BRIMFUL_DATABASE to the new place; the old one "
        "stays as it is.",
    )
    parser.add_argument("to", help="a path for an SQLite file, or postgresql://user@host/name (password: PGPASSWORD)")
    options = parser.parse_args(argv)
    try:
        return asyncio.run(_move(Settings.read().database, options.to))
    except (BadSettings, StoreBroken) as wrong:
        print(f"brimful move: {wrong}", file=sys.stderr)
        return 2


async def _move(source_place: str, target_place: str) -> int:
    source, target = open_store(source_place), open_store(target_place)
    if target_place.startswith(POSTGRES) and "password" in conninfo_to_dict(target_place):
        raise BadSettings("a password on the command line can be read by everybody here; put it into PGPASSWORD")
    try:
        await source.open()
        await target.open()
        await source.reserve()
        await target.reserve()
        with source.units.unit(writes=False) as there, target.units.unit(writes=True) as here:
            moved = move(there, here)
    finally:
        await source.close()
        await target.close()
    for table, rows in moved.items():
        print(f"{table:14}{rows:9}")
    print(f"{sum(moved.values())} rows moved and compared. Set BRIMFUL_DATABASE to the new place.")
    return 0

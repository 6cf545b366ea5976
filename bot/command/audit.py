"""`brimful audit`: who did what, and when."""

import argparse
import asyncio
import sys
from collections.abc import Sequence
from datetime import UTC, datetime, timedelta
from pathlib import Path

from bot.command.books import opened
from bot.desk.trail import deeds, trail_csv
from bot.model.sought import Seek
from bot.run.clock import WallClock
from bot.settings import BadSettings, Settings
from bot.store.contract import StoreBroken
from bot.talk.words import Words

MONTH = timedelta(days=30)


def main(argv: Sequence[str]) -> int:
    """Print what was done, oldest first, and write it where a table is wanted. Returns the exit code."""
    parser = argparse.ArgumentParser(prog="brimful audit", description="Who did what, and when, in UTC.")
    parser.add_argument("--since", type=_moment, help="a day or moment, such as 2027-03-01 (default: 30 days ago)")
    parser.add_argument("--csv", type=Path, help="write all of it into this file as a table")
    try:
        return asyncio.run(_run(parser.parse_args(argv), Settings.read()))
    except (BadSettings, ValueError, OSError, StoreBroken) as wrong:
        print(f"brimful audit: {wrong}", file=sys.stderr)
        return 2


def _moment(text: str) -> datetime:
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise argparse.ArgumentTypeError(f"{text!r} is no day; write one such as 2027-03-01") from None
    return moment if moment.tzinfo else moment.replace(tzinfo=UTC)


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    async with opened(settings) as (store, dealer):
        since = options.since or WallClock().now() - MONTH
        found = deeds(await store.look_up(dealer.key, Seek(what="trail", since=since)))
    words = Words("en")
    if not found:
        print(f"Nothing was done since {since.astimezone(UTC):%Y-%m-%d %H:%M} UTC.")
    for one in found:
        print(f"{one.at:%Y-%m-%d %H:%M}  {words.text(one.who):20} {words.text(one.what)}")
    if options.csv:
        options.csv.write_bytes(trail_csv(found, words))
    return 0

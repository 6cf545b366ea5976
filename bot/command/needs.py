"""`brimful needs`: who will soon run out of what, for the shop."""

import argparse
import asyncio
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.command.books import opened
from bot.desk.needs import needs_csv, told
from bot.run.clock import WallClock
from bot.run.needs_jobs import look
from bot.settings import BadSettings, Settings
from bot.store.contract import StoreBroken
from bot.talk.words import Words


def main(argv: Sequence[str]) -> int:
    """Print how many packs of what are needed, and write the names where they are wanted. Returns the exit code."""
    parser = argparse.ArgumentParser(prog="brimful needs", description="Who will soon run out of what.")
    parser.add_argument("--weeks", type=_weeks, help="look so far ahead (default: the dealer's file says)")
    parser.add_argument("--csv", type=Path, help="write a row for each tub and product into this file")
    try:
        return asyncio.run(_run(parser.parse_args(argv), Settings.read()))
    except (BadSettings, ValueError, OSError, StoreBroken) as wrong:
        print(f"brimful needs: {wrong}", file=sys.stderr)
        return 2


def _weeks(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 1 <= int(text) <= 26):
        raise argparse.ArgumentTypeError(f"{text!r} is not a number of weeks: write one from 1 to 26")
    return int(text)


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    async with opened(settings) as (store, dealer):
        weeks = options.weeks or dealer.supplies.weeks
        needs = await look(store, dealer, WallClock().now(), weeks)
    words = Words("en")
    print(words.text(told(needs, dealer, weeks)))
    if options.csv:
        options.csv.write_bytes(needs_csv(needs, words))
    return 0

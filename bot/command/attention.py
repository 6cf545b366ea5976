"""`brimful attention`: who needs somebody, and why."""

import argparse
import asyncio
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.command.books import opened
from bot.desk.attention import MATTERS, Needs, counts
from bot.run.clock import WallClock
from bot.run.roll import needing_csv, who_needs
from bot.settings import BadSettings, Settings
from bot.store.contract import StoreBroken
from bot.talk.words import Words, line

WORDS = Words("en")
SHOWN = 10
"""Names printed for each matter."""


def main(argv: Sequence[str]) -> int:
    """Print counts and names, and write the whole list where one is wanted. Returns the exit code."""
    options = _parser().parse_args(argv)
    try:
        return asyncio.run(_run(options, Settings.read()))
    except (BadSettings, ValueError, OSError, StoreBroken) as wrong:
        print(f"brimful attention: {wrong}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="brimful attention", description="Who needs somebody, and why.")
    parser.add_argument("matter", nargs="?", choices=MATTERS, metavar="MATTER", help=f"only {', '.join(MATTERS)}")
    parser.add_argument("--csv", type=Path, help="write the whole list into this file")
    return parser


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    async with opened(settings) as (store, dealer):
        found = await who_needs(store, dealer, WallClock().now())
    if options.matter:
        found = [Needs(one.sight, {options.matter: one.matters[options.matter]}) for one in found
                 if options.matter in one.matters]  # fmt: skip
    _print(found)
    if options.csv:
        options.csv.write_bytes(needing_csv(found, WORDS))
    return 0


def _print(found: list[Needs]) -> None:
    if not found:
        print("Nobody needs anything.")
    for matter, count in counts(found).items():
        print(f"{WORDS.text(line(f'attention.matter.{matter}'))} ({matter}): {count}")
        mine = [one for one in found if matter in one.matters]
        for one in mine[:SHOWN]:
            since = one.matters[matter]
            phone = one.sight.person.phones[0] if one.sight.person.phones else ""
            print(f"  {one.sight.person.name or '(no name)':30} {phone:16} {since.date() if since else ''}".rstrip())
        if len(mine) > SHOWN:
            print(f"  and {len(mine) - SHOWN} more; --csv FILE writes all")

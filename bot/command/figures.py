"""`brimful figures`: how the house does."""

import argparse
import asyncio
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.command.books import opened
from bot.desk.figures import drawing, figures_csv, told
from bot.pictures.make import make
from bot.run.clock import WallClock
from bot.run.figures_jobs import count
from bot.settings import BadSettings, Settings
from bot.store.contract import StoreBroken
from bot.talk.words import Words


def main(argv: Sequence[str]) -> int:
    """Print the figures, and write picture and table where they are wanted. Returns the exit code."""
    parser = argparse.ArgumentParser(prog="brimful figures", description="How the house does.")
    parser.add_argument("--csv", type=Path, help="write them into this file as a table")
    parser.add_argument("--picture", type=Path, help="draw them into this PNG")
    try:
        return asyncio.run(_run(parser.parse_args(argv), Settings.read()))
    except (BadSettings, ValueError, OSError, StoreBroken) as wrong:
        print(f"brimful figures: {wrong}", file=sys.stderr)
        return 2


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    async with opened(settings) as (store, dealer):
        made = await count(store, dealer, WallClock().now())
    words = Words("en")
    print(words.text(told(made)))
    if options.csv:
        options.csv.write_bytes(figures_csv(made, words))
    if options.picture:
        options.picture.write_bytes(make(drawing(made, words)).content)
    return 0

"""`brimful person`: find somebody in the books, hand over what is stored on them, erase them."""

import argparse
import asyncio
import json
import sys
from collections.abc import Sequence

from bot.command.books import opened
from bot.model.trail import Acted
from bot.run.clock import WallClock
from bot.run.paged import pages
from bot.run.trail import note
from bot.settings import BadSettings, Settings
from bot.store.contract import Store, StoreBroken


def main(argv: Sequence[str]) -> int:
    """Do it. Returns the exit code."""
    options = _parser().parse_args(argv)
    try:
        return asyncio.run(_do(options, Settings.read()))
    except (BadSettings, ValueError, StoreBroken) as wrong:
        print(f"brimful person: {wrong}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brimful person", description="What is stored on one person: find them, hand it over, erase it."
    )
    doing = parser.add_subparsers(dest="doing", required=True)
    doing.add_parser("find", help="the keys of owners whose name holds these words").add_argument("name")
    doing.add_parser("export", help="everything stored on a person, as JSON").add_argument("key")
    erase = doing.add_parser("erase", help="remove everything personal of a person, for good")
    erase.add_argument("key")
    erase.add_argument("--yes", action="store_true", help="it is meant")
    return parser


async def _do(options: argparse.Namespace, settings: Settings) -> int:
    async with opened(settings) as (store, dealer):
        match options.doing:
            case "find":
                await _find(store, dealer.key, options.name.casefold())
            case "export":
                stored = await _about(store, dealer.key, options.key)
                await note(store, dealer.key, Acted(what="exported", about=(options.key,)), WallClock().now())
                print(json.dumps(stored, indent=1, ensure_ascii=False))
            case _:
                await _erase(store, dealer.key, options.key, sure=options.yes)
    return 0


async def _find(store: Store, dealer: str, words: str) -> None:
    async for owned in pages(store.owners, dealer):
        for person, tubs in owned:
            if words in person.name.casefold():
                print(person.key, person.name, person.standing, *(f"tub {tub.key}" for tub in tubs), sep="  ")


async def _about(store: Store, dealer: str, key: str) -> object:
    stored = await store.about(dealer, key)
    if stored is None:
        raise ValueError(f"{key}: nobody here has that key; `brimful person find NAME` names the keys")
    return stored


async def _erase(store: Store, dealer: str, key: str, *, sure: bool) -> None:
    await _about(store, dealer, key)
    if not sure:
        raise ValueError(f"{key}: this cannot be taken back; say --yes if it is meant")
    now = WallClock().now()
    await store.erase(dealer, key, now)
    await note(store, dealer, Acted(what="erased", about=(key,)), now)
    print(f"{key} is erased. Backups made until now hold it until they go; topics in a group have to be deleted there.")

"""`brimful duplicates`: who is in the books twice, and making two one."""

import argparse
import asyncio
import sys
from collections.abc import Sequence

from bot.command.books import opened
from bot.desk.duplicates import Pair, side_by_side
from bot.run.clock import WallClock
from bot.run.duplicates import find, keep_apart, make_one
from bot.settings import BadSettings, Settings
from bot.store.contract import Store, StoreBroken


def main(argv: Sequence[str]) -> int:
    """Print the pairs, or decide on one. Returns the exit code."""
    parser = argparse.ArgumentParser(
        prog="brimful duplicates", description="Owners and tubs that may be in the books twice, side by side."
    )
    doing = parser.add_subparsers(dest="doing")
    merge = doing.add_parser("merge", help="make a pair one; nothing is lost")
    merge.add_argument("pair", help="as `brimful duplicates` names it")
    merge.add_argument("--tubs", action="store_true", help="their tubs are one too")
    merge.add_argument("--yes", action="store_true", help="it is meant; it cannot be taken back")
    doing.add_parser("different", help="the pair is two, and not to be named again").add_argument("pair")
    try:
        return asyncio.run(_run(parser.parse_args(argv), Settings.read()))
    except (BadSettings, ValueError, StoreBroken) as wrong:
        print(f"brimful duplicates: {wrong}", file=sys.stderr)
        return 2


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    async with opened(settings) as (store, dealer):
        pairs = await find(store, dealer.key)
        if options.doing is None:
            _print(pairs)
        else:
            await _decide(store, dealer.key, _named(pairs, options.pair), options)
    return 0


def _named(pairs: Sequence[Pair], name: str) -> Pair:
    pair = next((one for one in pairs if one.name == name), None)
    if pair is None:
        raise ValueError(f"{name}: there is no such pair; `brimful duplicates` names those there are")
    return pair


async def _decide(store: Store, dealer: str, pair: Pair, options: argparse.Namespace) -> None:
    if options.doing == "different":
        await keep_apart(store, dealer, pair)
        print(f"{pair.name} are two and are not named again.")
        return
    if pair.both_joined:
        raise ValueError(f"{pair.name}: both have joined, each with a chat; one of them has to leave first")
    if options.tubs and pair.tubs is None:
        raise ValueError(f"{pair.name}: nothing says which of their tubs would be one; leave --tubs out")
    if pair.keep.person.key == pair.drop.person.key and not options.tubs:
        raise ValueError(f"{pair.name} is one owner with a tub twice: say --tubs")
    if not options.yes:
        _print([pair])
        raise ValueError("this cannot be taken back; say --yes if it is meant")
    if not await make_one(store, dealer, pair, WallClock().now(), tubs=options.tubs, by=None, via="command"):
        raise ValueError(f"{pair.name} changed meanwhile; nothing was done, try again")
    print(f"{pair.drop.person.key} is {pair.keep.person.key} from now on." if not options.tubs else "They are one now.")


def _print(pairs: Sequence[Pair]) -> None:
    if not pairs:
        print("Nobody is in the books twice, as far as can be seen.")
    for pair in pairs:
        joined = "; both have joined" if pair.both_joined else ""
        print(f"{pair.name}  (the same {pair.why}{joined})")
        for field, left, right in side_by_side(pair):
            print(f"  {field:8} {left or '-':38} {right or '-'}")

"""`brimful tub`: hand a tub to a new owner."""

import argparse
import asyncio
import sys
from collections.abc import Sequence

from bot.command.books import opened
from bot.command.invite import DAYS, link_with
from bot.desk.invites import new_invite
from bot.model.trail import Acted
from bot.run.clock import WallClock
from bot.run.paged import pages
from bot.run.trail import note
from bot.settings import BadSettings, Settings
from bot.store.contract import Store, StoreBroken


def main(argv: Sequence[str]) -> int:
    """Do it. Returns the exit code."""
    parser = argparse.ArgumentParser(prog="brimful tub", description="What becomes of a tub that is sold or moved.")
    doing = parser.add_subparsers(dest="doing", required=True)
    hand = doing.add_parser("hand", help="a link that makes a tub a new owner's alone; the history stays with the tub")
    hand.add_argument("tub", help="its key or serial number; `brimful person find NAME` names the keys")
    hand.add_argument("--name", default="", help="the new owner's name, where it is known")
    hand.add_argument("--days", type=int, default=DAYS, help=f"how many days it can be used (default {DAYS})")
    try:
        return asyncio.run(_hand(parser.parse_args(argv), Settings.read()))
    except (BadSettings, ValueError, StoreBroken) as wrong:
        print(f"brimful tub: {wrong}", file=sys.stderr)
        return 2


async def _hand(options: argparse.Namespace, settings: Settings) -> int:
    if not 1 <= options.days <= 365:
        raise ValueError(f"--days {options.days}: an invite can be used for 1 to 365 days")
    now = WallClock().now()
    async with opened(settings) as (store, dealer):
        tub, names = await _named(store, dealer.key, options.tub)
        secret, invite = new_invite(dealer.key, now, name=options.name, tub=tub, days=options.days)
        await store.put_invite(invite.model_copy(update={"hands_on": True}))
        await note(store, dealer.key, Acted(what="hand_on_link", about=(tub,)), now)
    print(link_with(settings.bot, secret))
    print(
        f"once, until {invite.expires:%Y-%m-%d %H:%M} UTC; whoever uses it has the tub alone, "
        f"and then it is no longer with {', '.join(names)}",
        file=sys.stderr,
    )
    return 0


async def _named(store: Store, dealer: str, wanted: str) -> tuple[str, list[str]]:
    """The key of the tub with that key or serial number, and who has it."""
    found: dict[str, list[str]] = {}
    async for page in pages(store.owners, dealer):
        for person, tubs in page:
            for tub in tubs:
                if wanted in (tub.key, tub.serial):
                    found.setdefault(tub.key, []).append(person.name or person.key)
    if len(found) != 1:
        many = f"{len(found)} tubs have that serial number" if found else "no tub has that key or serial number"
        raise ValueError(f"{wanted}: {many}; `brimful person find NAME` names the keys")
    return next(iter(found.items()))

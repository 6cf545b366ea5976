"""`brimful invite`: a single-use way in for one owner, technician or member of the dealer's staff."""

import argparse
import asyncio
import secrets
import sys
from collections.abc import Sequence

from bot.command.books import opened
from bot.command.quantities import parse_volume
from bot.desk.invites import new_invite
from bot.model.trail import Acted
from bot.model.tub import Tub
from bot.run.clock import WallClock
from bot.run.trail import note
from bot.settings import BadSettings, Settings
from bot.store.contract import StoreBroken

DAYS = 14


def link_with(bot: str | None, secret: str) -> str:
    """What opens the chat with an invite: a link, or the words to write where the bot's user name is not known."""
    name = (bot or "").removeprefix("@")
    return f"https://t.me/{name}?start={secret}" if name else f"/start {secret}"


def main(argv: Sequence[str]) -> int:
    """Make an invite and print its link, once. Returns the exit code."""
    options = _parser().parse_args(argv)
    try:
        return asyncio.run(_invite(options, Settings.read()))
    except (BadSettings, ValueError, StoreBroken) as wrong:
        print(f"brimful invite: {wrong}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brimful invite",
        description="Make a single-use invite. Its link is shown once; only a digest of it is stored.",
    )
    parser.add_argument("--name", required=True, help="whom it is for")
    parser.add_argument("--role", choices=("owner", "technician", "dealer"), default="owner")
    parser.add_argument("--days", type=int, default=DAYS, help=f"how many days it can be used (default {DAYS})")
    parser.add_argument("--volume", help="the tub's volume, such as 1300L, where it is known")
    parser.add_argument("--sanitizer", choices=("chlorine", "bromine"), help="where the dealer has decided it")
    parser.add_argument("--model", help="the tub's model")
    return parser


async def _invite(options: argparse.Namespace, settings: Settings) -> int:
    if not 1 <= options.days <= 365:
        raise ValueError(f"--days {options.days}: an invite can be used for 1 to 365 days")
    async with opened(settings) as (store, dealer):
        tub = None
        if options.role == "owner":
            volume = parse_volume(options.volume) if options.volume else None
            key = "t" + secrets.token_hex(5)
            tub = Tub(key=key, dealer=dealer.key, volume=volume, sanitizer=options.sanitizer, model=options.model)
        now = WallClock().now()
        secret, invite = new_invite(
            dealer.key, now, name=options.name, role=options.role, tub=tub.key if tub else None, days=options.days
        )
        if tub:
            await store.put(dealer.key, [], [tub], [])
        await store.put_invite(invite)
        await note(store, dealer.key, Acted(what="invited", about=(tub.key,) if tub else ()), now)
    print(link_with(settings.bot, secret))
    print(f"for {options.name}, once, until {invite.expires:%Y-%m-%d %H:%M} UTC", file=sys.stderr)
    return 0

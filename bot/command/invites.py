"""`brimful invites`: who has not joined, cards to print for them, and taking invites back."""

import argparse
import asyncio
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.command.books import opened
from bot.command.invite import link_with
from bot.desk.invites import DAYS, Waiting
from bot.desk.leaving import csv_of
from bot.model.dealer import Dealer
from bot.pictures.cards import cards_pdf
from bot.run.clock import WallClock
from bot.run.invite_jobs import waiting_csv
from bot.run.invites import card_of, issue, not_joined, withdraw
from bot.settings import BadSettings, Settings
from bot.store.contract import Store, StoreBroken
from bot.talk.words import Words

SHOWN = 50
VIA = "command"


def main(argv: Sequence[str]) -> int:
    """List, print or withdraw. Returns the exit code."""
    options = _parser().parse_args(argv)
    try:
        return asyncio.run(_run(options, Settings.read()))
    except (BadSettings, ValueError, OSError, StoreBroken) as wrong:
        print(f"brimful invites: {wrong}", file=sys.stderr)
        return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brimful invites", description="Invites for owners who are in the books and have not joined."
    )
    does = parser.add_subparsers(dest="do", required=True, metavar="list|print|withdraw")
    listing = does.add_parser("list", help="who has not joined")
    listing.add_argument("--csv", type=Path, help="write the list into this file")
    printing = does.add_parser("print", help="make an invite for each who has none, as cards to print")
    printing.add_argument("file", type=Path, help="the PDF to write")
    printing.add_argument("--again", action="store_true", help="also for those with an open invite, which it replaces")
    printing.add_argument("--days", type=int, default=DAYS, help=f"how long they can be used (default {DAYS})")
    printing.add_argument("--csv", type=Path, help="write names and links into this file too, for letters")
    taking = does.add_parser("withdraw", help="make open invites worthless")
    taking.add_argument("name", nargs="*", help="the owners' names as the list shows them")
    taking.add_argument("--all", action="store_true", help="every open invite")
    return parser


async def _run(options: argparse.Namespace, settings: Settings) -> int:
    async with opened(settings) as (store, dealer):
        waits = await not_joined(store, dealer.key, WallClock().now())
        match options.do:
            case "list":
                _list(waits, options.csv)
            case "print":
                await _print(store, dealer, waits, options, settings)
            case _:
                await _withdraw(store, dealer, waits, options)
        return 0


def _list(waits: list[Waiting], csv: Path | None) -> None:
    print(f"{len(waits)} not joined")
    for one in waits[:SHOWN]:
        phone = one.person.phones[0] if one.person.phones else ""
        print(f"  {one.person.name or '(no name)':30} {phone:16} {one.way}")
    if len(waits) > SHOWN:
        print(f"  and {len(waits) - SHOWN} more; --csv FILE writes all")
    if csv:
        csv.write_bytes(waiting_csv(waits, Words("en")))


async def _print(
    store: Store, dealer: Dealer, waits: list[Waiting], options: argparse.Namespace, settings: Settings
) -> None:
    if not 1 <= options.days <= 365:
        raise ValueError(f"--days {options.days}: an invite can be used for 1 to 365 days")
    if not settings.bot:
        raise ValueError("BRIMFUL_BOT is not set, so there is no link to print; set it to the bot's user name")
    wanted = waits if options.again else [one for one in waits if one.way != "open"]
    if not wanted:
        print("Nobody needs a card.")
        return
    options.file.touch()
    made = await issue(store, dealer.key, wanted, WallClock().now(), days=options.days, by=None, via=VIA)
    cards = [card_of(one, dealer, lambda secret: link_with(settings.bot, secret)) for one in made]
    options.file.write_bytes(cards_pdf(cards))
    if options.csv:
        pairs = zip(cards, (one.waiting.person.phones for one in made), strict=True)
        rows = ((card.name, phones[0] if phones else "", card.link) for card, phones in pairs)
        options.csv.write_bytes(csv_of(("name", "phone", "link"), rows))
    print(f"{len(cards)} cards in {options.file}: print at 100 %, cut along the lines.")
    print("The links are stored nowhere else.")


async def _withdraw(store: Store, dealer: Dealer, waits: list[Waiting], options: argparse.Namespace) -> None:
    names = {name.casefold() for name in options.name}
    if not names and not options.all:
        raise ValueError("withdraw whose? give names as `brimful invites list` shows them, or --all")
    chosen = [one for one in waits if one.invites and (options.all or one.person.name.casefold() in names)]
    missing = names - {one.person.name.casefold() for one in waits}
    if missing:
        raise ValueError(f"nobody called {', '.join(sorted(missing))} is waiting; see `brimful invites list`")
    gone = await withdraw(store, dealer.key, chosen, WallClock().now(), by=None, via=VIA)
    print(f"{gone} withdrawn")

"""`brimful house check`: whether a dealer's file can be used, before it is."""

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from bot.command.dealer import BadHouse, read_dealer
from bot.model.dealer import Dealer
from bot.settings import BadSettings, Settings

NO_CONTACTS = "none; those of each owner's country are named"


def main(argv: Sequence[str]) -> int:
    """Say what a file sets, or every fault in it with its line. 0, or 2 where there is one."""
    options = _parser().parse_args(argv)
    try:
        path = options.file or _set_path()
        dealer = read_dealer(path)
    except BadHouse as wrong:
        for fault in wrong.faults:
            print(f"{path}: {fault}", file=sys.stderr)
        return 2
    except (BadSettings, ValueError) as wrong:
        print(f"brimful house check: {wrong}", file=sys.stderr)
        return 2
    print("\n".join(said_of(dealer)))
    return 0


def _set_path() -> Path:
    path = Settings.read().dealer
    if path is None:
        raise ValueError("which file? give its path, or set BRIMFUL_DEALER")
    return path


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(prog="brimful house", description="The dealer's file of settings.")
    does = parser.add_subparsers(dest="do", required=True, metavar="check")
    check = does.add_parser("check", help="whether the file can be used; nothing is changed")
    check.add_argument("file", type=Path, nargs="?", help="the TOML file (default: BRIMFUL_DEALER)")
    return parser


def said_of(dealer: Dealer) -> list[str]:
    """What a file sets, in a few lines."""
    contacts = [name for name, value in dealer.contacts if value]
    days = ", ".join(f"{name} {value}" for name, value in dealer.intervals)
    place = f"{dealer.zone}, country {dealer.home or 'not known'}"
    return [
        f"{dealer.name} ({dealer.key}): {place}, language {dealer.language}, limits {dealer.locale}",
        f"contacts: {', '.join(contacts) or NO_CONTACTS}",
        f"models: {', '.join(model.name for model in dealer.models) or 'none'}",
        f"products: {', '.join(product.key for product in dealer.kit.products)}",
        f"strip: {dealer.scale.name}; start-up: {', '.join(dealer.start_order)}",
        f"days between tasks: {days}",
        "This file can be used.",
    ]

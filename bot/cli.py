"""The command line: `brimful COMMAND ...`."""

import os
import sys
from collections.abc import Sequence
from importlib import import_module
from importlib.metadata import version

COMMANDS = {
    "try": ("try_it", "talk with the bot in this terminal"),
    "plan": ("plan", "what to do with a tub's water, from a reading"),
    "rehearse": ("rehearse", "hold conversations from a script, on a virtual clock"),
    "serve": ("serve", "run the bot on Telegram"),
    "house": ("house", "check the dealer's file of settings"),
    "import": ("bring_in", "bring owners in from a spreadsheet"),
    "backup": ("backup", "copy the database while it is in use, checked"),
    "check": ("check", "what is wrong with settings, database, backups, token, and how to mend it"),
    "restore": ("restore", "put the last backup in the database's place"),
    "move": ("move", "copy everything into another database"),
    "attention": ("attention", "who needs a call, and why"),
    "figures": ("figures", "how the house does, as a picture and a table"),
    "needs": ("needs", "who will soon run out of what, for the shop"),
    "round": ("round", "one message to many owners"),
    "person": ("person", "find somebody, hand over what is stored on them, erase them"),
    "audit": ("audit", "who did what, and when"),
    "duplicates": ("duplicates", "owners and tubs that are in the books twice"),
    "tub": ("tub", "hand a tub to a new owner"),
    "invite": ("invite", "make a single-use invite"),
    "invites": ("invites", "cards for all who have not joined, and taking invites back"),
}
"""Each command's module in `bot.command`, imported only when it is called, and what it does."""


def usage() -> str:
    """The commands, one a line."""
    lines = (f"  {name:10}{what}" for name, (_, what) in COMMANDS.items())
    return "\n".join(("usage: brimful COMMAND ...", "", *lines, "", "brimful COMMAND --help says more."))


def main(argv: Sequence[str] | None = None) -> int:
    """Run a command; returns its exit code. 2 for a command that there is not."""
    name, *rest = [*(sys.argv[1:] if argv is None else argv)] or ["--help"]
    if name in ("--help", "-h", "help"):
        print(usage())
        return 0
    if name == "--version":
        print(f"brimful {version('brimful')}")
        return 0
    if name not in COMMANDS:
        print(f"brimful: there is no command {name!r}; there is {', '.join(COMMANDS)}", file=sys.stderr)
        return 2
    os.umask(0o077)  # what a command writes holds people's data, or links that let somebody in
    module = import_module(f"bot.command.{COMMANDS[name][0]}")
    return int(module.main(rest))

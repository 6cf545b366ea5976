"""`brimful try`: the bot in this terminal, or, where there is none, a season of it played on a virtual clock."""

import argparse
import asyncio
import locale
import logging
import math
import re
import sys
import tempfile
from collections.abc import Sequence
from datetime import datetime, timedelta
from importlib.resources import files
from pathlib import Path
from zoneinfo import ZoneInfo

from bot.app import build_house, open_store, warm_up
from bot.channels.terminal import CHAT, TERMINAL, TerminalChannel
from bot.command.dealer import DEMO
from bot.command.rehearse import play
from bot.command.scene import TranscriptScene
from bot.desk.invites import new_invite
from bot.model.dealer import Dealer
from bot.model.person import Address
from bot.model.tub import Tub
from bot.model.zones import check_zone, zone
from bot.run.clock import WallClock
from bot.run.house import House
from bot.run.pace import Pace
from bot.settings import data_folder
from bot.store.contract import Store, StoreBroken

OWNER = "Robin"
TUB = Tub(key="demo", dealer=DEMO.key, model="Cove 4", volume=1250, supply="plug_in", pumps=1, filters=1, heater_kw=2.0)
WELCOME = """\
This is Brimful. You are {owner}, whose new hot tub was just delivered; {dealer} has invited you.
Write as you would in a chat. A letter taps the button beside it.
    /skip 30m   lets time pass (m, h, d, w)        /quit   ends; everything is kept
"""
AT_ONCE = Pace(math.inf, lambda _: 0.0)
_SPANS = {"m": "minutes", "h": "hours", "d": "days", "w": "weeks"}


def main(argv: Sequence[str]) -> int:
    """Talk in this terminal; without one, print the built-in season. Returns the exit code."""
    options = _parser().parse_args(argv)
    if not (sys.stdin.isatty() and sys.stdout.isatty()):
        return play_season()
    logging.basicConfig(level=logging.ERROR)
    database = options.db or data_folder() / "try.sqlite3"
    try:
        return asyncio.run(_talk(database, new=options.new))
    except StoreBroken as broken:
        print(broken, file=sys.stderr)
        return 2
    except KeyboardInterrupt:
        return 0


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brimful try",
        description="Talk with the bot in this terminal. Without a terminal it plays a season on a virtual clock.",
    )
    parser.add_argument("--new", action="store_true", help="forget the last trial and begin again")
    parser.add_argument("--db", type=Path, help="SQLite file to use (default: one in your data folder)")
    return parser


def play_season() -> int:
    """Play the built-in script from first fill to the first reminder."""
    script = (files("bot.command") / "first_season.rehearsal").read_text(encoding="utf-8")
    with tempfile.TemporaryDirectory(prefix="brimful-") as folder:
        return asyncio.run(play(iter(script.splitlines()), Path(folder) / "season.sqlite3", TranscriptScene))


async def _talk(database: Path, *, new: bool) -> int:
    if new:
        forget(database)
    clock = SkippingClock(database.with_suffix(".ahead"))
    dealer = DEMO.model_copy(update={"zone": zone_here()})
    invite = await _set_up(database, dealer, clock)
    store, stop = open_store(database), asyncio.Event()
    skips: asyncio.Queue[timedelta] = asyncio.Queue()

    def own(line: str) -> bool:
        if line == "/quit":
            stop.set()
        elif found := re.fullmatch(r"/skip\s+(\d+(?:\.\d+)?)\s*([mhdw])", line):
            skips.put_nowait(timedelta(**{_SPANS[found[2]]: float(found[1])}))
        else:
            return False
        return True

    channel = TerminalChannel(
        dealer.key,
        sys.stdin.readline,
        sys.stdout,
        clock.now,
        invite=invite,
        language=language_here(),
        folder=database.with_suffix(".files"),
        on_own=own,
        on_end=stop.set,
    )
    house = build_house(store, {TERMINAL: channel}, every=timedelta(seconds=1), paces={TERMINAL: AT_ONCE})
    print(WELCOME.format(owner=OWNER, dealer=dealer.name))
    warm_up()
    skipping = asyncio.create_task(_skip(house, store, clock, skips))
    try:
        await house.serve(clock, stop)
    finally:
        skipping.cancel()
    print()
    return 0


async def _set_up(database: Path, dealer: Dealer, clock: "SkippingClock") -> str | None:
    """See that the dealer, the tub and the invite are there; returns the invite's digest if it is still to be used."""
    store = open_store(database)
    await store.open()
    try:
        if await store.person_at(dealer.key, Address(channel=TERMINAL, chat=CHAT)):
            return None
        await store.put_dealer(dealer)
        await store.put(dealer.key, [], [TUB], [])
        _, invite = new_invite(dealer.key, clock.now(), name=OWNER, tub=TUB.key)
        await store.put_invite(invite)
        return invite.digest
    finally:
        await store.close()


async def _skip(house: House, store: Store, clock: "SkippingClock", skips: "asyncio.Queue[timedelta]") -> None:
    """Let time pass as asked for; what is due on the way happens in its order, at its own time."""
    while True:
        until = clock.now() + await skips.get()
        while (moment := await store.next_moment(after=clock.now())) is not None and moment <= until:
            clock.skip_to(moment)
            await house.settle_down(clock.now())
        clock.skip_to(until)
        print(
            f"\n  (it is {until.astimezone(await _zone_of_tub(store)):%A %d %B, %H:%M} now)\n\n> ", end="", flush=True
        )


async def _zone_of_tub(store: Store) -> ZoneInfo:
    """Where the tub is, as its owner said; before that, where this machine is."""
    person = await store.person_at(DEMO.key, Address(channel=TERMINAL, chat=CHAT))
    return zone(person.zone if person else zone_here())


class SkippingClock(WallClock):
    """The machine's clock and whatever was skipped, kept in a file so that time never goes back."""

    def __init__(self, file: Path) -> None:
        self._file = file
        self._ahead = timedelta(seconds=float(file.read_text(encoding="ascii"))) if file.exists() else timedelta()

    def now(self) -> datetime:
        """The time now, with what was skipped."""
        return super().now() + self._ahead

    def skip_to(self, moment: datetime) -> None:
        """Go on to a moment that has not come yet."""
        if moment > self.now():
            self._ahead += moment - self.now()
            self._file.write_text(str(self._ahead.total_seconds()), encoding="ascii")


def forget(database: Path) -> None:
    """Remove an earlier trial."""
    for ending in ("", "-wal", "-shm", ".running"):
        database.with_name(database.name + ending).unlink(missing_ok=True)
    database.with_suffix(".ahead").unlink(missing_ok=True)


def language_here() -> str | None:
    """The language of this terminal."""
    name = locale.getlocale()[0]
    return name[:2].lower() if name and name not in ("C", "POSIX") else None


def zone_here() -> str:
    """The machine's time zone by name; UTC where it has none that we know."""
    try:
        return check_zone(Path("/etc/localtime").resolve().as_posix().partition("zoneinfo/")[2] or "UTC")
    except (ValueError, OSError):
        return "UTC"

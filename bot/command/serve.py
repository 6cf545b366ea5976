"""`brimful serve`: the bot as a service, on Telegram."""

import argparse
import asyncio
import contextlib
import logging
import sys
from collections.abc import Sequence

from bot.app import build_house, open_store, warm_up
from bot.channels.telegram import TELEGRAM, TelegramChannel
from bot.channels.telegram.channel import TelegramRefused
from bot.channels.telegram.pace import chat_burst, chat_seconds
from bot.command.dealer import read_dealer
from bot.command.watch_house import HouseFile
from bot.model.dealer import Dealer
from bot.run.clock import WallClock
from bot.run.door import Door
from bot.run.pace import Pace
from bot.run.seat import Seat
from bot.run.signals import stop_on_signals
from bot.run.tenure import Tenure, new_holder
from bot.settings import BadSettings, Settings
from bot.store.contract import POSTGRES, Store, StoreBroken
from bot.talk.commands import group_menu, menu

log = logging.getLogger(__name__)
LOOK_SECONDS = 15.0
LISTEN = "127.0.0.1:8470"
PATIENCE = 4
"""How many looks in a row may find the channel in trouble before the service ends and its supervisor begins anew."""


def main(argv: Sequence[str]) -> int:
    """Run until told to stop. 0 after an orderly end, 1 after a fault, 2 where a setting is wrong."""
    argparse.ArgumentParser(
        prog="brimful serve", description="Run the bot on Telegram. Settings: see deploy/environment.example."
    ).parse_args(argv)
    try:
        settings = Settings.read()
        logging.basicConfig(level=settings.log, format="%(levelname)s %(name)s: %(message)s")
        return asyncio.run(serve(settings, token_of(settings)))
    except* (BadSettings, ValueError, TelegramRefused) as wrong:
        print(f"brimful serve: {_first(wrong)}", file=sys.stderr)
        code = 2
    except* StoreBroken as broken:
        print(f"brimful serve: {_first(broken)}", file=sys.stderr)
        code = 1
    return code


def token_of(settings: Settings) -> str:
    """The bot's token; BadSettings where there is none."""
    if settings.token is None:
        raise BadSettings("BRIMFUL_TOKEN: the bot needs its token; give the one that the service issued for it")
    return settings.token.get_secret_value()


def _first(group: BaseExceptionGroup[BaseException]) -> BaseException:
    first = group.exceptions[0]
    return _first(first) if isinstance(first, BaseExceptionGroup) else first


async def serve(settings: Settings, token: str) -> int:
    """Run the service; returns its exit code."""
    dealer = read_dealer(settings.dealer)
    if settings.dealer is None:
        log.warning("BRIMFUL_DEALER is not set: the bot speaks for %s, a dealer of our own invention", dealer.name)
    store = open_store(settings.database)
    await store.open()
    await store.put_dealer(dealer)
    await store.close()
    webhook = f"{settings.webhook.rstrip('/')}/updates/{dealer.key}" if settings.webhook else None
    channel = TelegramChannel(
        token,
        dealer.key,
        now=WallClock().now,
        api_url=settings.api_url,
        menu=menu(),
        group_menu=group_menu(),
        webhook=webhook,
    )
    holder = new_holder()
    tenure = Tenure(store, dealer.key, TELEGRAM, holder) if settings.database.startswith(POSTGRES) else None
    pace = Pace(settings.pace, chat_seconds=chat_seconds, chat_burst=chat_burst)
    seat = Seat(channel, dealer.key, pace, tenure, polls=not webhook)
    house = build_house(store, [seat], workers=settings.workers, holder=holder)
    warm_up()
    door = Door(store, {dealer.key: channel})
    with stop_on_signals() as stop:
        await _open(door, settings)
        watch = asyncio.create_task(_watch(channel, stop), name="watch")
        looking = _look_after(settings, dealer, store, stop)
        try:
            await house.serve(WallClock(), stop)
        finally:
            stop.set()
            await looking
            await door.close()
        return 1 if await watch else 0


def _look_after(settings: Settings, dealer: Dealer, store: Store, stop: asyncio.Event) -> "asyncio.Task[None]":
    """Take over what changes in the dealer's file, where there is one."""

    async def nothing() -> None:
        """The invented dealer does not change."""

    if settings.dealer is None:
        return asyncio.create_task(nothing())
    file = HouseFile(settings.dealer, dealer, store)
    return asyncio.create_task(file.look_after(stop), name="dealer's file")


async def _open(door: Door, settings: Settings) -> None:
    """Listen where the settings say so."""
    listen = settings.listen or (LISTEN if settings.webhook else None)
    if listen is None:
        return
    host, _, port = listen.rpartition(":")
    try:
        opened = await door.open(host.strip("[]") or "127.0.0.1", int(port))
    except (OSError, OverflowError) as error:
        raise BadSettings(f"BRIMFUL_LISTEN: cannot listen at {listen} ({error}); give a free port") from None
    log.info("listening on port %d", opened)


async def _watch(channel: TelegramChannel, stop: asyncio.Event) -> bool:
    """End the service when the channel stays in trouble: a supervisor that begins anew is better than silence.

    Returns whether it did.
    """
    looks = 0
    while not stop.is_set():
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(stop.wait(), LOOK_SECONDS)
            return False
        trouble = channel.trouble()
        looks = looks + 1 if trouble else 0
        if trouble:
            log.error("the channel is in trouble: %s", trouble)
        if looks >= PATIENCE:
            stop.set()
            return True
    return False

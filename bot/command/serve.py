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
from bot.command.dealer import read_dealers
from bot.command.logs import write_logs
from bot.command.watch_house import HouseFile
from bot.model.dealer import Dealer
from bot.run.clock import WallClock
from bot.run.crowd import Crowd
from bot.run.door import Door
from bot.run.figures import Figures, measured
from bot.run.pace import Pace
from bot.run.seat import Seat
from bot.run.signals import stop_on_signals
from bot.run.tenure import Tenure, new_holder
from bot.settings import BadSettings, Settings
from bot.store.contract import POSTGRES, StoreBroken
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
        write_logs(settings.log, as_json=not sys.stderr.isatty())
        return asyncio.run(serve(settings))
    except* (BadSettings, ValueError, TelegramRefused) as wrong:
        print(f"brimful serve: {_first(wrong)}", file=sys.stderr)
        code = 2
    except* StoreBroken as broken:
        print(f"brimful serve: {_first(broken)}", file=sys.stderr)
        code = 1
    return code


def _first(group: BaseExceptionGroup[BaseException]) -> BaseException:
    first = group.exceptions[0]
    return _first(first) if isinstance(first, BaseExceptionGroup) else first


async def serve(settings: Settings) -> int:
    """Run the service; returns its exit code."""
    dealers = read_dealers(settings.dealer)
    if settings.dealer is None:
        log.warning(
            "BRIMFUL_DEALER is not set: the bot speaks for %s, a dealer of our own invention", dealers[0][1].name
        )
    channels = _channels([dealer for _, dealer in dealers], settings)
    store = open_store(settings.database)
    await store.open()
    for _, known in dealers:
        await store.put_dealer(known)
    await store.close()
    holder = new_holder()
    pace = Pace(settings.pace, chat_seconds=chat_seconds, chat_burst=chat_burst)
    shared = settings.database.startswith(POSTGRES)
    seats = [
        Seat(
            channel,
            dealer,
            pace,
            Tenure(store, dealer, TELEGRAM, holder) if shared else None,
            polls=not settings.webhook,
        )
        for dealer, channel in channels.items()
    ]
    figures = Figures()
    crowd = Crowd(settings.each, settings.strangers)
    house = build_house(measured(store, figures), seats, workers=settings.workers, holder=holder, crowd=crowd)
    warm_up()
    door = Door(store, channels, figures=lambda: figures.text(store, WallClock().now()))
    with stop_on_signals() as stop:
        await _open(door, settings)
        watch = asyncio.create_task(_watch([*channels.values()], stop), name="watch")
        looking = [
            asyncio.create_task(HouseFile(file, known, store).look_after(stop), name="dealer's file")
            for file, known in dealers
            if file is not None
        ]
        try:
            await house.serve(WallClock(), stop)
        finally:
            stop.set()
            await asyncio.gather(*looking)
            await door.close()
        return 1 if await watch else 0


def _channels(dealers: Sequence[Dealer], settings: Settings) -> dict[str, TelegramChannel]:
    """Each dealer's own bot, by the dealer's key. BadSettings where two would share one."""
    alone = len(dealers) == 1
    tokens = {dealer.key: settings.token_for(dealer.key, alone=alone) for dealer in dealers}
    if len(set(tokens.values())) < len(tokens):
        raise BadSettings("BRIMFUL_TOKEN_...: two dealers have the same token; give each a bot of its own")
    return {
        dealer: TelegramChannel(
            token,
            dealer,
            now=WallClock().now,
            api_url=settings.api_url,
            menu=menu(),
            group_menu=group_menu(),
            webhook=f"{settings.webhook.rstrip('/')}/updates/{dealer}" if settings.webhook else None,
            insists=not alone,
        )
        for dealer, token in tokens.items()
    }


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


async def _watch(channels: Sequence[TelegramChannel], stop: asyncio.Event) -> bool:
    """End the service when all of its channels stay in trouble: a supervisor that begins anew is better than silence.

    Returns whether it did.
    """
    looks = 0
    while not stop.is_set():
        with contextlib.suppress(TimeoutError):
            await asyncio.wait_for(stop.wait(), LOOK_SECONDS)
            return False
        troubles = [channel.trouble() for channel in channels]
        for trouble in filter(None, troubles):
            log.error("a channel is in trouble: %s", trouble)
        looks = looks + 1 if all(troubles) else 0
        if looks >= PATIENCE:
            stop.set()
            return True
    return False

"""Albums, whose parts the service hands out one by one, through the whole house."""

import asyncio
from datetime import datetime
from pathlib import Path

import pytest

from bot.channels.telegram import TelegramChannel
from bot.model.event import Arrival, Sent
from bot.model.known import Known, Outcome
from bot.model.message import Message
from bot.run.clock import WallClock
from bot.run.door import Door
from bot.run.house import House
from bot.run.seat import Seat
from bot.store.sqlite import SqliteStore
from tests.botapi import BotApi
from tests.kill.program import DEALER, prepare
from tests.telegram.desk import channel_to


def count(known: Known, arrival: Arrival, now: datetime) -> Outcome:
    """Say how many files came together."""
    if not isinstance(arrival.event, Sent):
        return Outcome()
    text = f"{len(arrival.event.files)} files: {arrival.event.caption}"
    return Outcome(messages=(Message(to=known.person.key if known.person else "", text=text),))


@pytest.mark.parametrize("brought", [True, False])
async def test_an_album_is_answered_once_however_its_parts_come(api: BotApi, tmp_path: Path, brought: bool):
    ada = api.person("Ada")
    place = tmp_path / "brimful.db"
    await prepare(place, [ada.id])
    store = SqliteStore(place)
    takers: dict[str, TelegramChannel] = {}
    door = Door(store, takers)
    port = await door.open("127.0.0.1", 0)
    channel = channel_to(api, f"http://127.0.0.1:{port}/updates/{DEALER.key}" if brought else None, DEALER.key)
    takers[DEALER.key] = channel
    stop = asyncio.Event()
    house = House(store, [Seat(channel, DEALER.key)], count, lambda _: Outcome(), workers=4)
    serving = asyncio.create_task(house.serve(WallClock(), stop))
    for turn in range(3):
        ada.sends_photo(album="77", caption="three views" if turn == 1 else "")
        await api.until(lambda: not api.ledger.unconfirmed())
    ada.sends_photo(album="78")
    await api.until(lambda: len(ada.texts) == 2)
    assert sorted(ada.texts) == ["1 files:", "3 files: three views"]
    stop.set()
    await serving
    await door.close()

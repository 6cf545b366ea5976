"""The receiving side: keeps each arrival once, and can be out of order for a while."""

import asyncio
import time
from datetime import UTC, datetime

from bot.channels.telegram import TelegramChannel
from bot.model.event import Arrival, Event
from bot.model.message import Button, Message, Parcel
from bot.model.person import Address
from bot.run.clock import WallClock
from tests.botapi import BotApi


class Desk:
    """An inbox by update; the next `broken` receptions fail with what a broken disk raises."""

    def __init__(self) -> None:
        self.kept: dict[str, Arrival] = {}
        self.asked: list[str] = []
        self.broken = 0

    async def receive(self, arrival: Arrival) -> bool:
        self.asked.append(arrival.update)
        if self.broken:
            self.broken -= 1
            raise OSError("the disk is full")
        new = arrival.update not in self.kept
        self.kept.setdefault(arrival.update, arrival)
        return new

    @property
    def arrivals(self) -> list[Arrival]:
        return list(self.kept.values())

    @property
    def events(self) -> list[Event | None]:
        return [arrival.event for arrival in self.arrivals]

    async def until(self, count: int, within: float = 10.0) -> list[Arrival]:
        """The arrivals, once there are `count` of them."""
        deadline = time.monotonic() + within
        while len(self.kept) < count:
            if time.monotonic() > deadline:
                raise AssertionError(f"only {len(self.kept)} of {count} arrived: {self.events}")
            await asyncio.sleep(0.01)
        return self.arrivals


def parcel(chat: int | str, text: str, *rows: list[str], number: int = 1) -> Parcel:
    """A message in the outbox; buttons carry their own label in lower case."""
    buttons = tuple(tuple(Button(label=label, data=label.lower()) for label in row) for row in rows)
    return Parcel(
        number=number,
        dealer="dealer-1",
        address=Address(channel="telegram", chat=str(chat)),
        message=Message(to="ada", text=text, buttons=buttons),
        at=datetime(2027, 3, 1, 9, tzinfo=UTC),
    )


def channel_to(api: BotApi, webhook: str | None = None, dealer: str = "dealer-1") -> TelegramChannel:
    """A channel to the double that waits for nothing longer than a test likes."""
    return TelegramChannel(
        api.token,
        dealer,
        now=WallClock().now,
        api_url=api.url,
        webhook=webhook,
        poll_seconds=5,
        album_seconds=0.2,
        retry_seconds=[0.05],
    )

"""The contract of a channel."""

from collections.abc import Awaitable, Callable
from typing import Protocol

from bot.model.event import Arrival, File
from bot.model.message import Delivered, Parcel, Refusal
from bot.model.person import Address

Receive = Callable[[Arrival], Awaitable[bool]]
"""Keeps an arrival durably and says whether it was new. If it raises, the arrival must not be acknowledged."""


class NotReady(Exception):
    """An update that was brought cannot be taken now; it is to be brought again."""


class Channel(Protocol):
    """A way to people. `name` is the channel part of an address."""

    name: str

    async def start(self, receive: Receive) -> None:
        """Begin to take events in; each is acknowledged to its sender only after `receive` returned."""

    async def stop(self) -> None:
        """Take nothing more in."""

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        """Send one message, into its topic where it has one; every way it can go wrong is a Refusal, never an
        exception.
        """

    async def fetch(self, file: File) -> bytes | None:
        """The content of a file that somebody sent; None where it is no longer there or too large to be had."""

    def link(self, secret: str) -> str:
        """What brings somebody into a chat with an invite of that secret."""

    async def busy_with(self, address: Address) -> None:
        """Show that an answer is coming, where the channel can (a typing indicator)."""

"""A channel held in memory: everybody's phone is a list of messages, and whoever holds the script taps for them.

The phones outlive the channel, as real ones outlive a restart of the program.
"""

import asyncio
from collections import defaultdict
from collections.abc import Awaitable, Callable
from dataclasses import dataclass, field
from pathlib import Path

from bot.channels.contract import Receive
from bot.model.event import File
from bot.model.message import Button, Delivered, Message, Parcel, Refusal
from bot.model.person import Address

REHEARSAL = "rehearsal"


@dataclass
class Phone:
    """What one person or one group has received, oldest first."""

    messages: list[Message] = field(default_factory=list)
    blocked: bool = False
    has_topics: bool = True
    """Whether a group's topics are on."""
    topics: dict[str, str] = field(default_factory=dict)
    """The case of each topic that is there, by the topic's number."""
    closed: set[str] = field(default_factory=set)
    """Topics that are closed."""
    opened: int = 0
    """How many topics were ever opened."""

    def thread_of(self, case: str) -> str:
        """The number of a case's topic; empty where there is none."""
        return next((thread for thread, one in reversed(self.topics.items()) if one == case), "")

    @property
    def newest(self) -> Message | None:
        """The message that came last."""
        return self.messages[-1] if self.messages else None

    def button(self, label: str, case: str = "") -> Button:
        """The button of that label on the newest message that has it, in a group in the topic of that case.
        LookupError says which there are.
        """
        for message in reversed(self.messages):
            if case and (message.topic is None or message.topic.case != case):
                continue
            for button in buttons_of(message):
                if button.label.casefold() == label.casefold():
                    return button
        there = ", ".join(f"[{button.label}]" for button in buttons_of(self.newest)) if self.newest else ""
        raise LookupError(f"there is no button [{label}]; on the newest message there is {there or 'none'}")


def buttons_of(message: Message) -> list[Button]:
    """The buttons of a message, row by row."""
    return [button for row in message.buttons for button in row]


Phones = defaultdict[str, Phone]
"""Phones by chat."""


def phones() -> Phones:
    """No phones yet; one appears with its first message."""
    return defaultdict(Phone)


OnDelivery = Callable[[Parcel], Awaitable[None]]


async def _nobody_listens(_: Parcel) -> None:
    pass


def _into_topic(phone: Phone, parcel: Parcel) -> Delivered:
    """Open the topic that a message belongs in where it is not there, and open or close it as the message says."""
    topic, thread = parcel.message.topic, parcel.thread or ""
    if topic is None:
        return Delivered()
    if not phone.has_topics:
        return Delivered(lapse="no_topics")
    if topic.turn == "remove":
        phone.topics.pop(thread, None)
        return Delivered()
    new = thread not in phone.topics
    if new and topic.turn == "close":
        return Delivered()
    if new:
        phone.opened += 1
        thread = str(phone.opened)
        phone.topics[thread] = topic.case
    if topic.turn == "close":
        phone.closed.add(thread)
    else:
        phone.closed.discard(thread)
    return Delivered(thread=thread if new else None, lapse="new" if new and not topic.card else "")


class RehearsalChannel:
    """Delivers into phones. `on_delivery` hears of every message that arrived; what people send lies in `folder`."""

    name = REHEARSAL

    def __init__(self, phones: Phones, on_delivery: OnDelivery = _nobody_listens, folder: Path = Path()) -> None:
        self._phones = phones
        self._folder = folder
        self._on_delivery = on_delivery

    async def start(self, receive: Receive) -> None:
        """Nothing comes in by itself: whoever holds the phones brings it."""

    async def stop(self) -> None:
        """Nothing came in by itself."""

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        """Deliver a message, unless its reader has blocked the bot; in a group into its topic."""
        phone = self._phones[parcel.address.chat]
        if phone.blocked:
            return Refusal(kind="blocked", why="the person has blocked the bot")
        if parcel.edits is not None and parcel.edits.isdecimal() and 0 < int(parcel.edits) <= len(phone.messages):
            phone.messages[int(parcel.edits) - 1] = parcel.message
            await self._on_delivery(parcel)
            return Delivered(reference=parcel.edits)
        receipt = _into_topic(phone, parcel)
        phone.messages.append(parcel.message)
        await self._on_delivery(parcel)
        return receipt.model_copy(update={"reference": str(len(phone.messages))})

    async def fetch(self, file: File) -> bytes | None:
        """What the file on this machine holds that the script named."""
        path = self._folder / file.reference
        return await asyncio.to_thread(path.read_bytes) if path.is_file() else None

    def link(self, secret: str) -> str:
        """An address of the rehearsal's own."""
        return f"{REHEARSAL}:{secret}"

    async def busy_with(self, address: Address) -> None:
        """Nobody looks at a phone while an answer is on its way."""

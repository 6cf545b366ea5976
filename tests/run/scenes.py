"""A small conversation and a small channel of the tests' own."""

import asyncio
from collections.abc import AsyncIterator, Awaitable, Callable
from contextlib import asynccontextmanager
from datetime import datetime
from pathlib import Path

from bot.channels.contract import Receive
from bot.model.conversation import Conversation
from bot.model.event import Arrival, Fell, Wrote
from bot.model.fact import Noted
from bot.model.known import Known, Outcome
from bot.model.message import Delivered, Lane, Message, Parcel, Refusal
from bot.model.person import Address
from bot.store.sqlite import SqliteStore
from tests.store.samples import ADA, BIRCH, BO, CEDAR, CHANNEL, NORTH, TOM, due, entry

LANES: dict[str, Lane] = {"alarm": "alert", "remind": "reminder", "news": "bulk"}


def echo(known: Known, arrival: Arrival, now: datetime) -> Outcome:
    """Answer what is written; "in 5h rinse" is a reminder of that time, "remind x" and "news x" use their lanes."""
    to = known.person.key if known.person else ""
    answer = Message(to=to, text="")
    match arrival.event:
        case Fell(what=what):
            text, dues = f"time to {what}", ()
            answer = answer.model_copy(update={"lane": "reminder"})
        case Wrote(text=text) if text.startswith("in "):
            _, hours, what = text.split()
            dues = (due(what, now.replace(hour=now.hour + int(hours[:-1])), person=to, what=what),)
        case Wrote(text=text):
            dues = ()
            answer = answer.model_copy(update={"lane": LANES.get(text.split()[0], "reply")})
        case _:
            return Outcome()
    count = known.conversation.serial + 1
    return Outcome(
        entries=(entry(arrival.update, Noted(text=text), person=to or None, tub=None, at=now),) if to else (),
        conversation=Conversation(serial=count),
        messages=(answer.model_copy(update={"text": f"{text} ({count})"}),),
        set_dues=dues,
    )


def sorry(known: Known) -> Outcome:
    return Outcome(messages=(Message(to=known.person.key if known.person else "", text="sorry"),))


Answer = Callable[[Parcel], Awaitable[Delivered | Refusal]]


async def accept(parcel: Parcel) -> Delivered | Refusal:
    return Delivered()


class Line:
    """A channel that notes what it is given and answers as it is told to."""

    name = CHANNEL

    def __init__(self, answer: Answer = accept) -> None:
        self.answer = answer
        self.sent: list[Parcel] = []
        self.receive: Receive | None = None
        self.started = asyncio.Event()
        self.changed = asyncio.Event()

    @property
    def texts(self) -> list[str]:
        return [parcel.message.text for parcel in self.sent]

    async def start(self, receive: Receive) -> None:
        self.receive = receive
        self.started.set()

    async def stop(self) -> None:
        self.receive = None

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        self.sent.append(parcel)
        self.changed.set()
        return await self.answer(parcel)

    async def busy_with(self, address: Address) -> None:
        return None

    async def has_sent(self, count: int) -> None:
        """Return once so many have been sent."""
        while len(self.sent) < count:
            self.changed.clear()
            await self.changed.wait()


def answers(*kinds: Delivered | Refusal) -> Answer:
    """Answer with these in turn, then take everything."""
    left = list(kinds)

    async def answer(_: Parcel) -> Delivered | Refusal:
        return left.pop(0) if left else Delivered()

    return answer


@asynccontextmanager
async def a_store(folder: Path, *, patience: float = 1.0) -> AsyncIterator[SqliteStore]:
    """An open store with the usual people in it."""
    store = SqliteStore(folder / "brimful.db", patience=patience)
    await store.open()
    await store.put_dealer(NORTH)
    await store.put("north", [ADA, BO, TOM], [CEDAR, BIRCH], [("ada", "cedar"), ("bo", "birch")])
    try:
        yield store
    finally:
        await store.close()

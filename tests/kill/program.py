"""The programs that are killed, by name.

`count` is the real store, engine, post, ticker and channel around a conversation that keeps books which a test can
check, without a pace; `serve` is the product as its users run it; `echo` is the library's own polling loop, to compare
with. Each is started with the path of a database, the double's URL and its token.
"""

import asyncio
import logging
import math
import os
import sys
from datetime import datetime, timedelta
from pathlib import Path

from bot.app import open_store
from bot.channels.telegram import TelegramChannel
from bot.cli import main as brimful
from bot.command.dealer import read_dealer
from bot.model.conversation import Conversation
from bot.model.due import Due
from bot.model.event import Arrival, Fell, Wrote
from bot.model.fact import Entry, Noted
from bot.model.known import Known, Outcome
from bot.model.message import Message
from bot.model.person import Address, Person
from bot.model.tub import Tub
from bot.run.clock import WallClock
from bot.run.house import House
from bot.run.pace import Pace
from bot.run.seat import Seat
from bot.run.signals import stop_on_signals
from bot.run.tenure import Tenure, new_holder
from bot.store.contract import POSTGRES
from tests.kill import plain

DEALER = read_dealer(None)
NO_LIMIT = Pace(per_second=math.inf, chat_seconds=lambda _: 0.0)
LEASE_SECONDS = 3.0
REMIND_EVERY = 5
REMIND_SECONDS = 1.5


def count(known: Known, arrival: Arrival, now: datetime) -> Outcome:
    """Answer each message with its text and its place in the chat; remind of every fifth a moment later."""
    person = known.person
    if person is None:
        return Outcome()
    match arrival.event:
        case Fell(what=what):
            return Outcome(messages=(Message(to=person.key, lane="reminder", text=f"reminder {what}"),))
        case Wrote(text=text):
            place = known.conversation.serial + 1
            about = {"dealer": known.dealer.key, "tub": None, "person": person.key}
            soon = now + timedelta(seconds=REMIND_SECONDS)
            due = Due(key=f"{person.key} {text}", kind="reminder", what=text, at=soon, **about)
            return Outcome(
                entries=(Entry(key=arrival.update, at=now, via="telegram", fact=Noted(text=text), **about),),
                conversation=Conversation(serial=place),
                messages=(Message(to=person.key, text=f"answer {text} {place}"),),
                set_dues=(due,) if place % REMIND_EVERY == 0 else (),
            )
        case _:
            return Outcome()


def sorry(known: Known) -> Outcome:
    """A line for what could not be handled; no test should ever see it."""
    return Outcome(messages=(Message(to=known.person.key if known.person else "", text="sorry"),))


async def prepare(place: Path | str, chats: list[int]) -> None:
    """Make the database, with an owner and a tub for every chat."""
    store = open_store(place)
    await store.open()
    await store.put_dealer(DEALER)
    people = [
        Person(
            key=f"p{chat}", dealer=DEALER.key, name="Ada", address=Address(channel="telegram", chat=str(chat)),
            agreed_at=WallClock().now(),
        )
        for chat in chats
    ]  # fmt: skip
    tubs = [
        Tub(key=f"t{chat}", dealer=DEALER.key, volume=1300, sanitizer="chlorine", cartridge=False) for chat in chats
    ]
    await store.put(DEALER.key, people, tubs, [(f"p{chat}", f"t{chat}") for chat in chats])
    await store.close()


async def count_on(place: str, url: str, token: str) -> None:
    """Serve the conversation that counts until a signal comes; on a server, in turn with others."""
    channel = TelegramChannel(token, DEALER.key, now=WallClock().now, api_url=url, poll_seconds=5, album_seconds=0.05)
    every = timedelta(seconds=0.2)
    store, holder = open_store(place), new_holder()
    tenure = Tenure(store, DEALER.key, "telegram", holder, LEASE_SECONDS) if place.startswith(POSTGRES) else None
    seat = Seat(channel, DEALER.key, NO_LIMIT, tenure)
    house = House(store, [seat], count, sorry, workers=2, every=every, holder=holder)
    with stop_on_signals() as stop:
        await house.serve(WallClock(), stop)


def run(name: str, path: str, url: str, token: str) -> int:
    """Run a program until a signal comes; its exit code."""
    if name == "serve":
        os.environ |= {"BRIMFUL_DATABASE": path, "BRIMFUL_API_URL": url, "BRIMFUL_TOKEN": token}
        os.environ["BRIMFUL_LOG"] = "WARNING"
        os.environ.setdefault("BRIMFUL_EACH", "600")
        return brimful(["serve"])
    if name == "echo":
        return plain.poll(url, token)
    logging.basicConfig(level=logging.WARNING, stream=sys.stderr)
    try:
        asyncio.run(count_on(path, url, token))
    except Exception:
        logging.exception("the program ended by an error")
        return 1
    return 0

"""What a message encloses is made when it leaves; what cannot be made never keeps its words back."""

import asyncio
import math
import random
import threading
from datetime import timedelta

import dosing
from bot.model.enclosure import Made, PlanDrawing
from bot.model.fact import ReadingTaken
from bot.model.known import Outcome
from bot.model.message import Delivered, Message, Parcel, Refusal
from bot.run import studio
from bot.run.pace import Pace
from bot.run.post import Post
from bot.run.studio import Studio
from bot.store.sqlite import SqliteStore
from dosing import Reading, Said
from tests.run.scenes import Answer, Line, accept, answers
from tests.store.contract.rooms import settle
from tests.store.samples import CHANNEL, NOON, chat, later
from tests.talk.world import World


def drawing(**values: float) -> PlanDrawing:
    said = {key: Said.value(value) for key, value in values.items()}
    plan = dosing.plan(volume=1300, sanitizer="chlorine", reading=Reading(values=said))
    words = {name: name for name in ("title", "alkalinity", "carbon", "now", "target", "expected")}
    return PlanDrawing(plan=plan, volume=1300, **words)


GOOD = drawing(fc=1, ph=8.4, ta=180)
NOWHERE = drawing(fc=1)


async def put(store: SqliteStore, *messages: Message) -> None:
    await settle(store, f"put {len(messages)}", Outcome(messages=messages), at="99")


async def drained(store: SqliteStore, answer: Answer = accept) -> list[Parcel]:
    line = Line(answer)
    post = Post(store, {CHANNEL: line}, paces={CHANNEL: Pace(math.inf, lambda _: 0.0)}, chance=random.Random(1))
    await post.drain(NOON)
    await post.drain(later(minutes=10))
    return line.sent


def enclosing(enclosure: PlanDrawing, text: str = "look") -> Message:
    return Message(to="", text=text, enclosure=enclosure, address=chat("1"))


async def test_a_drawing_waits_in_the_outbox_as_a_value_and_leaves_as_a_picture(store: SqliteStore):
    await put(store, enclosing(GOOD))
    (parcel,) = await drained(store)
    assert parcel.message.enclosure == GOOD
    assert parcel.made
    assert (parcel.made.form, parcel.made.content[:4]) == ("picture", b"\x89PNG")


async def test_what_cannot_be_drawn_leaves_its_words_and_order_behind(store: SqliteStore):
    await put(store, enclosing(NOWHERE, "first"), Message(to="", text="second", address=chat("1")))
    sent = await drained(store)
    assert [(parcel.message.text, parcel.made) for parcel in sent] == [("first", None), ("second", None)]


async def test_a_message_that_is_sent_again_carries_the_same_picture(store: SqliteStore):
    await put(store, enclosing(GOOD))
    first, second = await drained(store, answers(Refusal(kind="later", why="flood", seconds=5), Delivered()))
    assert first.made is not None
    assert first.made == second.made


async def test_loading_what_draws_takes_nothing_from_the_time_for_drawing(monkeypatch):
    begun, may_end = threading.Event(), threading.Event()

    def load() -> None:
        begun.set()
        may_end.wait()

    monkeypatch.setattr(studio, "_load", load)
    parcel = Parcel.model_construct(message=enclosing(GOOD))
    making = asyncio.create_task(Studio().enclose(parcel))
    await asyncio.to_thread(begun.wait)
    loop = asyncio.get_running_loop()
    real = loop.time
    monkeypatch.setattr(loop, "time", lambda: real() + studio.MAKING_SECONDS + 1.0)
    may_end.set()
    assert (await making).made is not None


async def test_the_same_drawing_for_several_people_is_made_once(store: SqliteStore):
    draws = Studio()
    await put(store, enclosing(GOOD), enclosing(GOOD))
    parcels = await drained(store)
    one, other = [await draws.enclose(parcel) for parcel in parcels]
    assert one.made is other.made


async def test_what_could_not_be_made_is_said_in_the_readers_words(store: SqliteStore):
    unmade = enclosing(NOWHERE, "look").model_copy(update={"unmade": "it could not be drawn"})
    await put(store, unmade)
    (parcel,) = await drained(store)
    assert parcel.made is None
    assert parcel.message.text == "look\n\nit could not be drawn"


def test_whatever_a_conversation_encloses_says_so_where_it_could_not_be_made() -> None:
    with World() as world:
        ada = world.owner("Ada")
        ada.did(ReadingTaken(values={"fc": Said.value(3.0)}), ago=timedelta(days=1))
        for language in ("en", "de", "fr", "es"):
            ada.says(f"/language:{language}").says("/calendar")
            told = [message for message in ada.new if message.enclosure]
            assert told
            assert all(message.unmade for message in told)


async def test_what_took_too_long_is_there_when_it_is_asked_for_again(monkeypatch):
    may_end = threading.Event()
    real = studio._make

    def slow(enclosure: PlanDrawing) -> Made:
        may_end.wait()
        return real(enclosure)

    monkeypatch.setattr(studio, "_make", slow)
    monkeypatch.setattr(studio, "MAKING_SECONDS", 0.01)
    draws, parcel = Studio(), Parcel.model_construct(message=enclosing(GOOD))
    assert (await draws.enclose(parcel)).made is None
    may_end.set()
    monkeypatch.setattr(studio, "MAKING_SECONDS", 60.0)
    assert (await draws.enclose(parcel)).made is not None

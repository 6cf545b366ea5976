import asyncio
import math
import random
from datetime import datetime

import pytest

from bot.model.event import Arrival, GroupLapsed
from bot.model.group import Place, Topic
from bot.model.known import Outcome
from bot.model.message import Delivered, Lane, Message, Parcel, Refusal
from bot.run.clock import VirtualClock
from bot.run.pace import Pace
from bot.run.post import Post
from bot.run.verdict import REPEATED
from bot.store.sqlite import SqliteStore
from tests.run.scenes import Answer, Line, accept, answers
from tests.store.contract.rooms import settle
from tests.store.samples import CHANNEL, NOON, chat, later

NO_LIMIT = {CHANNEL: Pace(per_second=math.inf, chat_seconds=lambda _: 0.0)}
UNKNOWN = Refusal(kind="unknown", why="no answer")
FAILED = Refusal(kind="failed", why="502")


def post(store: SqliteStore, line: Line) -> Post:
    return Post(store, {CHANNEL: line}, paces=NO_LIMIT, chance=random.Random(1))


async def put(store: SqliteStore, *letters: tuple[str, str, Lane]) -> None:
    """Put (text, chat, lane) in the outbox, in order."""
    messages = tuple(Message(to="", text=text, lane=lane, address=chat(at)) for text, at, lane in letters)
    await settle(store, f"put {letters}", Outcome(messages=messages), at="99")


async def drained(store: SqliteStore, answer: Answer, *times: datetime) -> list[str]:
    """The texts that were tried in one drain after the other."""
    line = Line(answer)
    post_ = post(store, line)
    for now in times:
        await post_.drain(now)
    return line.texts


async def test_everything_that_may_leave_leaves_in_order(store: SqliteStore):
    await put(store, ("n", "1", "bulk"), ("m", "2", "reminder"), ("a", "1", "alert"), ("r", "1", "reply"))
    assert await drained(store, accept, NOON) == ["a", "r", "m", "n"]


async def test_what_has_to_wait_waits_and_holds_back_its_chat_only(store: SqliteStore):
    await put(store, ("1", "1", "reply"), ("2", "1", "reply"), ("x", "2", "reply"))
    busy = answers(Refusal(kind="later", why="too fast", seconds=30))
    assert await drained(store, busy, NOON, later(seconds=29), later(seconds=30)) == ["1", "x", "1", "2"]


async def test_a_token_that_has_to_pause_pauses_whole_even_after_a_restart(store: SqliteStore):
    await put(store, ("1", "1", "reply"), ("x", "2", "reply"))
    flood = Refusal(kind="later", why="flood", seconds=3600, everyone=True)
    assert await drained(store, answers(flood), NOON) == ["1"]
    assert await drained(store, accept, later(minutes=59), later(minutes=60)) == ["1", "x"]


@pytest.mark.parametrize("lane", ["reply", "alert"])
async def test_an_answer_that_may_have_arrived_is_sent_once_more_and_marked(store: SqliteStore, lane: Lane):
    await put(store, ("1", "1", lane), ("2", "1", lane))
    times = [later(minutes=n) for n in range(4)]
    assert await drained(store, answers(UNKNOWN, UNKNOWN), *times) == ["1", f"{REPEATED}1", "2"]


@pytest.mark.parametrize("lane", ["reminder", "bulk"])
async def test_a_reminder_that_may_have_arrived_is_not_sent_again(store: SqliteStore, lane: Lane):
    await put(store, ("1", "1", lane), ("2", "1", lane))
    assert await drained(store, answers(UNKNOWN), NOON, later(minutes=9)) == ["1", "2"]


@pytest.mark.parametrize("lane", ["reminder", "bulk"])
async def test_a_reminder_survives_a_service_that_fails_for_a_while_and_is_sent_once(store: SqliteStore, lane: Lane):
    await put(store, ("1", "1", lane), ("2", "1", lane))
    times = [later(minutes=5 * n) for n in range(4)]
    assert await drained(store, answers(FAILED, FAILED), *times) == ["1", "1", "1", "2"]


async def test_an_answer_that_the_service_failed_to_send_is_marked_when_it_comes_again(store: SqliteStore):
    await put(store, ("1", "1", "reply"))
    times = [later(minutes=5 * n) for n in range(4)]
    assert await drained(store, answers(FAILED, FAILED), *times) == ["1", f"{REPEATED}1", f"{REPEATED}1"]


async def test_after_a_day_without_the_service_reminders_are_left_out_and_answers_are_not(store: SqliteStore):
    await put(store, ("r", "1", "reply"), ("m", "1", "reminder"), ("x", "2", "reminder"))
    down = answers(*[Refusal(kind="broken", why="no network")])
    assert await drained(store, down, NOON, later(hours=25)) == ["r", "r"]
    assert sum((await store.depths()).values()) == 0


async def test_a_process_that_died_while_sending_may_have_sent(store: SqliteStore):
    await put(store, ("r", "1", "reply"), ("m", "2", "reminder"), ("m2", "2", "reminder"))
    await store.next_parcels(CHANNEL, NOON, 2)
    await store.take_over()
    assert await drained(store, accept, NOON) == [f"{REPEATED}r", "m2"]


async def test_an_answer_is_not_given_up_however_many_processes_die_over_it(store: SqliteStore):
    await put(store, ("r", "1", "reply"))
    for _ in range(5):
        await store.next_parcels(CHANNEL, NOON, 1)
        await store.take_over()
    assert await drained(store, accept, NOON) == [f"{REPEATED}r"]


async def test_who_blocked_gets_nothing_more_and_the_others_do(store: SqliteStore):
    await put(store, ("1", "1", "reply"), ("2", "1", "reply"), ("x", "2", "reply"))
    assert await drained(store, answers(Refusal(kind="blocked", why="blocked")), NOON) == ["1", "x"]
    person = await store.person_at("north", chat("1"))
    assert person is not None
    assert person.standing == "blocked"


async def test_a_chat_that_moved_gets_its_messages_where_it_went(store: SqliteStore):
    await put(store, ("1", "-5", "alert"), ("2", "-5", "alert"))
    line = Line(answers(Refusal(kind="moved", why="moved", chat="-1005")))
    await post(store, line).drain(NOON)
    assert [(parcel.message.text, parcel.address.chat) for parcel in line.sent] == [
        ("1", "-5"),
        ("1", "-1005"),
        ("2", "-1005"),
    ]


async def test_a_message_that_can_never_be_sent_is_left_out(store: SqliteStore):
    await put(store, ("1", "1", "reply"), ("2", "1", "reply"))
    assert await drained(store, answers(Refusal(kind="bad", why="empty")), NOON) == ["1", "2"]
    assert sum((await store.depths()).values()) == 0


async def test_a_channel_that_does_not_work_is_tried_again_with_growing_pauses(store: SqliteStore):
    await put(store, ("1", "1", "reply"), ("x", "2", "reply"))
    down = answers(*[Refusal(kind="broken", why="no network")] * 3)
    assert await drained(store, down, NOON, *(later(minutes=n) for n in (1, 2, 3))) == ["1", "1", "1", "1", "x"]


async def test_a_channel_that_fails_by_a_fault_of_its_own_stops_nobody_else(store: SqliteStore):
    async def trip(parcel: Parcel) -> Delivered | Refusal:
        if parcel.message.text == "1":
            raise RuntimeError("tripped")
        return Delivered()

    await put(store, ("1", "1", "reminder"), ("x", "2", "reminder"))
    assert await drained(store, trip, NOON) == ["1", "x"]


class Gate:
    """Lets nothing through until it is opened."""

    def __init__(self) -> None:
        self.opened = asyncio.Event()

    async def __call__(self, parcel: Parcel) -> Delivered | Refusal:
        await self.opened.wait()
        return Delivered()


async def end(post_: Post, stop: asyncio.Event, running: "asyncio.Task[None]") -> None:
    stop.set()
    post_.ring()
    async with asyncio.timeout(20):
        await running


async def test_no_more_than_sixteen_are_under_way_and_one_of_each_chat(store: SqliteStore):
    await put(store, *((f"{n}", f"{n % 20}", "reply") for n in range(60)))
    gate, stop = Gate(), asyncio.Event()
    line = Line(gate)
    post_ = post(store, line)
    running = asyncio.create_task(post_.senders[0].run_forever(VirtualClock(NOON), stop))
    await line.has_sent(16)
    for _ in range(50):
        await asyncio.sleep(0)
    assert len(line.sent) == 16
    assert len({parcel.address for parcel in line.sent}) == 16
    gate.opened.set()
    await line.has_sent(60)
    await end(post_, stop, running)
    for at in range(20):
        of_chat = [int(text) for text in line.texts if int(text) % 20 == at]
        assert of_chat == sorted(of_chat)


async def test_a_reply_leaves_before_the_bulk_that_was_there_first(store: SqliteStore):
    await put(store, *((f"n{n}", f"{n}", "bulk") for n in range(200)))
    stop = asyncio.Event()
    line = Line()
    post_ = post(store, line)
    running = asyncio.create_task(post_.senders[0].run_forever(VirtualClock(NOON), stop))
    await line.has_sent(20)
    await put(store, ("r", "777", "reply"))
    post_.ring()
    await line.has_sent(201)
    await end(post_, stop, running)
    assert line.texts.index("r") < 60


async def test_what_is_under_way_is_brought_to_its_end_when_asked_to_stop(store: SqliteStore):
    await put(store, ("1", "1", "reply"), ("2", "1", "reply"))
    gate, stop = Gate(), asyncio.Event()
    line = Line(gate)
    post_ = post(store, line)
    running = asyncio.create_task(post_.senders[0].run_forever(VirtualClock(NOON), stop))
    await line.has_sent(1)
    stop.set()
    post_.ring()
    await asyncio.sleep(0)
    assert not running.done()
    gate.opened.set()
    await running
    assert line.texts == ["1"]
    assert (await store.depths())["reply"] == 1


@pytest.mark.parametrize("number", [0, 33])
def test_a_number_in_flight_that_makes_no_sense_is_refused(store: SqliteStore, number: int):
    with pytest.raises(ValueError, match="choose 1 to 32"):
        Post(store, {}, in_flight=number)


async def test_what_a_group_did_with_a_message_comes_back_as_an_arrival_and_the_same_news_once_a_day(
    store: SqliteStore,
):
    heard: list[Arrival] = []

    async def receive(arrival: Arrival) -> bool:
        heard.append(arrival)
        return True

    answer_of: dict[str, Delivered | Refusal] = {
        "new": Delivered(thread="7", lapse="new"),
        "plain": Delivered(lapse="no_topics"),
        "fine": Delivered(),
        "shut": Refusal(kind="blocked", why="kicked"),
    }

    async def answer(parcel: Parcel) -> Delivered | Refusal:
        return answer_of[parcel.message.text]

    topic = Topic(case="ada-1", name="Ada")
    texts = ("new", "plain", "plain", "fine", "shut")
    messages = [Message(to="", text=text, topic=topic, address=chat("-1")) for text in texts]
    alone = Message(to="", text="shut", address=chat("5"))
    await settle(store, "put", Outcome(messages=(*messages, alone)), at="99")
    await Post(store, {CHANNEL: Line(answer)}, receive=receive).drain(NOON)
    assert [arrival.event for arrival in heard] == [
        GroupLapsed(what=what, case="ada-1") for what in ("new", "no_topics", "no_topics", "gone")
    ]
    assert len({arrival.update for arrival in heard}) == 3
    assert {(arrival.address, arrival.group) for arrival in heard} == {(chat("-1"), Place())}

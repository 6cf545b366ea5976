"""Whatever is put in, refused, lost on the way or repeated: the order within a chat holds, and all of it leaves."""

import tempfile
from datetime import timedelta
from pathlib import Path

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.model.known import Outcome
from bot.model.message import LANES, Delivered, Lane, Message, Parcel, Refusal
from bot.store.sqlite import SqliteStore
from tests.store.samples import CHANNEL, NOON, NORTH, chat, wrote

CHATS = ("1", "2", "-3")
LATER = Refusal(kind="later", why="too fast")
puts = st.tuples(st.just("put"), st.sampled_from(CHATS), st.sampled_from(LANES))
sends = st.tuples(st.just("send"), st.integers(1, 4), st.sampled_from(["sent", "later", "bad", "died"]))


def calm(lane: Lane) -> bool:
    return lane in {"reminder", "bulk"}


class Desk:
    """A store, and what ought to have left it."""

    def __init__(self, store: SqliteStore) -> None:
        self.store = store
        self.now = NOON
        self.waiting: list[Parcel] = []
        self.put_count = 0

    async def put(self, at: str, lane: Lane) -> None:
        self.put_count += 1
        await self.store.receive(wrote(f"{self.put_count}", at="99"))
        taken = await self.store.take(self.now)
        assert taken is not None
        message = Message(to="", text=f"{self.put_count}", lane=lane, address=chat(at))
        await self.store.settle(taken, await self.store.known(taken.arrival), Outcome(messages=(message,)), self.now)
        place = Parcel(number=self.put_count, dealer="north", address=chat(at), message=message, at=self.now)
        self.waiting.append(place)

    def may_leave(self, parcel: Parcel) -> bool:
        """Nothing that it may not overtake is older."""
        lane = parcel.message.lane
        older = [
            other
            for other in self.waiting
            if other.address == parcel.address and int(other.message.text) < int(parcel.message.text)
        ]
        return not [other for other in older if calm(lane) or not calm(other.message.lane)]

    async def send(self, limit: int, fate: str) -> None:
        parcels = await self.store.next_parcels(CHANNEL, self.now, limit)
        assert len({parcel.address for parcel in parcels}) == len(parcels) <= limit
        assert all(self.may_leave(parcel) for parcel in parcels)
        assert [LANES.index(p.message.lane) for p in parcels] == sorted(LANES.index(p.message.lane) for p in parcels)
        again = self.now + timedelta(seconds=30)
        for parcel in parcels:
            match fate:
                case "sent":
                    await self.store.delivered(parcel, Delivered(), self.now)
                case "bad":
                    await self.store.refused(parcel, Refusal(kind="bad", why="bad"), self.now, again_at=None)
                case "later":
                    await self.store.refused(parcel, LATER, self.now, again_at=again)
            if fate in {"sent", "bad"}:
                self.waiting = [other for other in self.waiting if other.message.text != parcel.message.text]
        self.now += timedelta(seconds=20)


@settings(max_examples=40, deadline=None, suppress_health_check=[HealthCheck.too_slow])
@given(st.lists(st.one_of(puts, puts, sends), max_size=30))
async def test_order_within_a_chat_holds_and_all_of_it_leaves(steps: list[tuple[str, str, str]]):
    with tempfile.TemporaryDirectory() as folder:
        store = SqliteStore(Path(folder) / "brimful.db")
        await store.open()
        await store.put_dealer(NORTH)
        desk = Desk(store)
        for what, *how in steps:
            await getattr(desk, what)(*how)
        desk.now += timedelta(days=1)
        left = len(desk.waiting)
        assert sum((await store.depths()).values()) == left
        while desk.waiting:
            await desk.send(4, "sent")
            assert len(desk.waiting) < left, "something that waits never leaves"
            left = len(desk.waiting)
        await store.close()

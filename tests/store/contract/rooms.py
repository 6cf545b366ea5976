"""What every group of store tests stands on: a store with two dealers, one of whom has people and tubs."""

from collections.abc import AsyncIterator
from pathlib import Path

import pytest

from bot.model.known import Known, Outcome
from bot.model.message import Delivered, Parcel
from bot.store.contract import Store, Taken
from tests.store.samples import ADA, BIRCH, BO, CEDAR, CHANNEL, FLO, NOON, NORTH, SOUTH, TOM, wrote


class StoreRooms:
    def make(self, folder: Path) -> Store:
        """A store kept in `folder`, not yet open; made again there, it holds what was kept."""
        raise NotImplementedError

    @pytest.fixture
    async def store(self, tmp_path: Path) -> AsyncIterator[Store]:
        store = self.make(tmp_path)
        await store.open()
        await store.put_dealer(NORTH)
        await store.put_dealer(SOUTH)
        await store.put("north", [ADA, BO, TOM, FLO], [CEDAR, BIRCH], [("ada", "cedar"), ("bo", "birch")])
        yield store
        await store.close()


async def take(store: Store) -> tuple[Taken, Known]:
    taken = await store.take(NOON)
    assert taken is not None
    return taken, await store.known(taken.arrival)


async def settle(store: Store, update: str, outcome: Outcome, *, at: str = "1") -> None:
    """Let somebody write, and settle that with `outcome`."""
    assert await store.receive(wrote(update, at=at))
    taken, known = await take(store)
    assert taken.arrival.update == update
    await store.settle(taken, known, outcome, NOON)


async def send_all(store: Store) -> list[Parcel]:
    """Deliver all that may leave at noon, one after the other."""
    sent = []
    while parcels := await store.next_parcels(CHANNEL, NOON, 1):
        await store.delivered(parcels[0], Delivered(), NOON)
        sent += parcels
    return sent


async def texts(store: Store) -> list[str]:
    return [parcel.message.text for parcel in await send_all(store)]

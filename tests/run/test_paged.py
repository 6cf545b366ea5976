"""What looks at all owners leaves everybody else their turn."""

import asyncio

from bot.run.paged import pages
from bot.run.roll import who_needs
from bot.store.sqlite import SqliteStore
from tests.store.samples import ADA, NOON, NORTH


async def test_every_owner_comes_once_in_order_and_others_get_their_turn_between_pages(store: SqliteStore):
    keys = [f"p{number:03}" for number in range(120)]
    await store.put(NORTH.key, [ADA.model_copy(update={"key": key, "address": None}) for key in keys], [], [])
    turns = 0

    async def another() -> None:
        nonlocal turns
        while True:
            turns += 1
            await asyncio.sleep(0)

    beside = asyncio.create_task(another())
    seen = [one.person.key async for page in pages(store.owners, NORTH.key, 50) for one in page]
    assert [key for key in seen if key in keys] == keys
    assert turns >= 2
    turns = 0
    assert {one.sight.person.key for one in await who_needs(store, NORTH, NOON)} >= set(keys)
    beside.cancel()
    assert turns >= 2

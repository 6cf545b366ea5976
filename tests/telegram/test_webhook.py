"""Updates that the service brings: kept before they are answered, from the service alone, none lost to a switch."""

from collections.abc import AsyncIterator
from io import BytesIO
from typing import Any

import aiohttp
import pytest

from bot.channels.telegram import TelegramChannel
from bot.model.event import Wrote
from bot.run.door import LARGEST_BODY, SECRET_HEADER, Door
from bot.store.sqlite import SqliteStore
from tests.botapi import BotApi
from tests.telegram.desk import Desk, channel_to


@pytest.fixture
async def door(api: BotApi, desk: Desk, tmp_path: Any) -> AsyncIterator[tuple[str, TelegramChannel]]:
    """A door to a channel that has updates brought, and its address."""
    store = SqliteStore(tmp_path / "b.db")
    await store.open()
    takers: dict[str, TelegramChannel] = {}
    door = Door(store, takers)
    url = f"http://127.0.0.1:{await door.open('127.0.0.1', 0)}"
    takers["dealer-1"] = channel = channel_to(api, f"{url}/updates/dealer-1")
    await channel.start(desk.receive)
    yield url, channel
    await channel.stop()
    await door.close()
    await store.close()


async def bring(url: str, body: object, secret: str = "", name: str = "dealer-1") -> int:
    async with aiohttp.ClientSession() as session:
        headers = {SECRET_HEADER: secret}
        async with session.post(f"{url}/updates/{name}", data=body, headers=headers) as answer:
            return answer.status


def texts(desk: Desk) -> list[str]:
    return [event.text for event in desk.events if isinstance(event, Wrote)]


async def test_what_people_write_is_brought_and_kept_in_order(
    api: BotApi, door: tuple[str, TelegramChannel], desk: Desk
):
    ada = api.person("Ada")
    for text in ("one", "two", "three"):
        ada.writes(text)
    await desk.until(3)
    assert texts(desk) == ["one", "two", "three"]
    await api.until(lambda: not api.ledger.unconfirmed())


async def test_what_could_not_be_kept_is_not_acknowledged_and_comes_again(
    api: BotApi, door: tuple[str, TelegramChannel], desk: Desk
):
    desk.broken = 2
    api.person("Ada").writes("one")
    await api.until(lambda: len(desk.asked) >= 2)
    await desk.until(1)
    await api.until(lambda: not api.ledger.unconfirmed())
    assert texts(desk) == ["one"]


@pytest.mark.parametrize("secret", ["", "guessed", "Ä"])
async def test_who_does_not_show_the_secret_is_refused_whatever_they_bring(
    door: tuple[str, TelegramChannel], desk: Desk, secret: str
):
    url, _ = door
    assert await bring(url, b'{"update_id": 1, "message": {}}', secret.encode("utf-8").decode("latin-1")) == 403
    assert await bring(url, b"not json", secret.encode("utf-8").decode("latin-1"), name="somebody") == 403
    assert desk.asked == []


@pytest.mark.parametrize(
    "body", [b"", b"[]", b"not json", b"\xff\xfe", b'{"update_id": "1"}', b'{"update_id": true}', b"[" * 100_000]
)
async def test_what_is_no_update_is_refused(door: tuple[str, TelegramChannel], desk: Desk, body: bytes):
    url, channel = door
    assert channel._webhook is not None
    assert await bring(url, body, channel._webhook.secret) == 400
    assert desk.asked == []


async def test_a_body_beyond_any_update_is_refused_unread(door: tuple[str, TelegramChannel], desk: Desk):
    url, channel = door
    assert channel._webhook is not None
    assert await bring(url, BytesIO(b" " * (LARGEST_BODY + 1)), channel._webhook.secret) == 413
    assert desk.asked == []


async def test_an_update_that_the_library_cannot_read_is_parked(
    api: BotApi, door: tuple[str, TelegramChannel], desk: Desk
):
    ada = api.person("Ada")
    with api.bell.lock:
        api.happens_raw({"message": {"chat": {"id": ada.id, "type": "private"}, "text": "/start s3cret", "date": "x"}})
    (parked,) = await desk.until(1)
    assert parked.event is None
    assert "s3cret" not in (parked.raw or "")


async def test_from_brought_to_fetched_and_back_nothing_is_lost(api: BotApi, desk: Desk, tmp_path: Any):
    ada = api.person("Ada")
    store = SqliteStore(tmp_path / "b.db")
    await store.open()
    takers: dict[str, TelegramChannel] = {}
    door = Door(store, takers)
    url = f"http://127.0.0.1:{await door.open('127.0.0.1', 0)}"
    for round_, webhook in enumerate((f"{url}/updates/dealer-1", None, f"{url}/updates/dealer-1", None)):
        ada.writes(f"before {round_}")
        takers["dealer-1"] = channel = channel_to(api, webhook)
        await channel.start(desk.receive)
        ada.writes(f"during {round_}")
        await desk.until(2 * round_ + 2)
        await channel.stop()
    assert texts(desk) == [f"{when} {round_}" for round_ in range(4) for when in ("before", "during")]
    await door.close()
    await store.close()


async def test_health_and_readiness_say_what_a_balancer_asks(tmp_path: Any):
    store = SqliteStore(tmp_path / "b.db")
    await store.open()
    door = Door(store, {})
    url = f"http://127.0.0.1:{await door.open('127.0.0.1', 0)}"
    async with aiohttp.ClientSession() as session:

        async def status(path: str) -> int:
            async with session.get(f"{url}/{path}") as answer:
                return answer.status

        assert [await status(path) for path in ("health", "ready")] == [200, 200]
        await store.close()
        assert [await status(path) for path in ("health", "ready")] == [200, 503]
    await door.close()

"""Delivery by webhook: with the secret, in order within a chat, until it is taken."""

from collections.abc import AsyncIterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from aiohttp import web
from telegram import Bot
from telegram.error import Conflict

from tests.botapi import BotApi
from tests.botapi.expect import refused

SECRET = "a-long-word_2"


@dataclass
class Door:
    """Where a bot takes its updates: refuses the next `refusals` of them."""

    url: str = ""
    refusals: int = 0
    taken: list[dict[str, Any]] = field(default_factory=list)
    secrets: list[str | None] = field(default_factory=list)

    async def take(self, request: web.Request) -> web.Response:
        self.secrets.append(request.headers.get("X-Telegram-Bot-Api-Secret-Token"))
        if self.refusals:
            self.refusals -= 1
            return web.Response(status=503)
        self.taken.append(await request.json())
        return web.Response()


@pytest.fixture
async def door() -> AsyncIterator[Door]:
    door = Door()
    application = web.Application()
    application.router.add_post("/updates", door.take)
    runner = web.AppRunner(application, access_log=None)
    await runner.setup()
    await web.TCPSite(runner, "127.0.0.1", 0).start()
    door.url = f"http://127.0.0.1:{runner.addresses[0][1]}/updates"
    yield door
    await runner.cleanup()


async def test_updates_are_posted_with_the_secret_and_confirmed_by_the_answer(
    api: BotApi, bot: Bot, door: Door
) -> None:
    await bot.set_webhook(door.url, secret_token=SECRET)
    ada = api.person("Ada")
    for text in ("one", "two", "three"):
        ada.writes(text)
    await api.until(lambda: len(api.ledger.confirmed) == 3)
    assert [update["message"]["text"] for update in door.taken] == ["one", "two", "three"]
    assert set(door.secrets) == {SECRET}


async def test_a_refused_update_is_posted_again_before_the_next_of_its_chat(api: BotApi, bot: Bot, door: Door) -> None:
    door.refusals = 2
    await bot.set_webhook(door.url, secret_token=SECRET)
    ada = api.person("Ada")
    ada.writes("one")
    ada.writes("two")
    await api.until(lambda: not api.ledger.unconfirmed())
    assert [update["message"]["text"] for update in door.taken] == ["one", "two"]
    info = await bot.get_webhook_info()
    assert (info.url, info.pending_update_count) == (door.url, 0)
    assert info.last_error_message == "Wrong response from the webhook: 503 Service Unavailable"


async def test_polling_and_a_webhook_exclude_each_other(api: BotApi, bot: Bot, door: Door) -> None:
    await bot.set_webhook(door.url)
    with pytest.raises(Conflict, match="webhook is active"):
        await bot.get_updates()
    await bot.delete_webhook()
    api.person("Ada").writes("hi")
    assert len(await bot.get_updates()) == 1


async def test_an_open_address_and_a_bad_secret_are_refused(bot: Bot, door: Door) -> None:
    with refused("HTTPS URL"):
        await bot.set_webhook("http://example.org/updates")
    with refused("unallowed characters"):
        await bot.set_webhook(door.url, secret_token="with space")


async def test_pending_updates_can_be_thrown_away(api: BotApi, bot: Bot) -> None:
    api.person("Ada").writes("hi")
    await bot.delete_webhook(drop_pending_updates=True)
    assert await bot.get_updates() == ()
    assert len(api.ledger.dropped) == 1

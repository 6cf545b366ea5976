"""The channel over HTTP against the Bot API double."""

from collections.abc import AsyncIterator

import pytest

from bot.channels.telegram import TelegramChannel
from tests.botapi import BotApi, Limits, serve
from tests.telegram.desk import Desk, channel_to


@pytest.fixture
async def api() -> AsyncIterator[BotApi]:
    async with serve(BotApi(limits=Limits.none())) as served:
        yield served


@pytest.fixture
def desk() -> Desk:
    return Desk()


@pytest.fixture
async def channel(api: BotApi, desk: Desk) -> AsyncIterator[TelegramChannel]:
    made = channel_to(api)
    await made.start(desk.receive)
    yield made
    await made.stop()

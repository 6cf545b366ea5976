"""The double and the bare client library pointed at it."""

from collections.abc import AsyncIterator

import pytest
from telegram import Bot
from telegram.request import HTTPXRequest

from tests.botapi import BotApi, Limits, serve


@pytest.fixture
async def api() -> AsyncIterator[BotApi]:
    async with serve(BotApi(limits=Limits.none())) as served:
        yield served


@pytest.fixture
async def bot(api: BotApi) -> AsyncIterator[Bot]:
    request = HTTPXRequest(connection_pool_size=8, read_timeout=5)
    async with Bot(api.token, base_url=api.base_url, base_file_url=api.base_file_url, request=request) as client:
        yield client

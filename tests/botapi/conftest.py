"""The double and the bare client library pointed at it."""

from collections.abc import AsyncIterator

import pytest
from telegram import Bot
from telegram.request import HTTPXRequest

from tests.botapi import BotApi, Limits, ManualClock, serve


@pytest.fixture(autouse=True)
def _spans_of_time_as_they_will_be(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PTB_TIMEDELTA", "1")


@pytest.fixture
def clock() -> ManualClock:
    return ManualClock()


@pytest.fixture
async def api(clock: ManualClock) -> AsyncIterator[BotApi]:
    async with serve(BotApi(limits=Limits.none(), clock=clock)) as served:
        yield served


@pytest.fixture
async def bot(api: BotApi) -> AsyncIterator[Bot]:
    request = HTTPXRequest(connection_pool_size=8, read_timeout=5)
    async with Bot(api.token, base_url=api.base_url, base_file_url=api.base_file_url, request=request) as client:
        yield client

"""The double and the bare client library pointed at it."""

from collections.abc import AsyncIterator

import httpx
import pytest
from telegram import Bot
from telegram.request import HTTPXRequest

from tests.botapi import BotApi, Limits, ManualClock, serve

TRUST = httpx.create_ssl_context()
"""Shared, for reading the certificates anew takes longer than most of these tests."""


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
    sending, polling = (HTTPXRequest(8, read_timeout=5, httpx_kwargs={"verify": TRUST}) for _ in range(2))
    async with Bot(api.token, api.base_url, api.base_file_url, sending, polling) as client:
        yield client

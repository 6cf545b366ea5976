"""Rates: overall, per group, per chat; 429 says how long."""

from collections.abc import AsyncIterator

import pytest
from telegram import Bot
from telegram.error import RetryAfter

from tests.botapi import BotApi, Limits, ManualClock, serve


@pytest.fixture
async def api(clock: ManualClock) -> AsyncIterator[BotApi]:
    async with serve(BotApi(limits=Limits(chat=(1, 1.0)), clock=clock)) as served:
        yield served


async def test_a_chat_takes_one_message_a_second(api: BotApi, bot: Bot, clock: ManualClock) -> None:
    ada, bo = api.person("Ada"), api.person("Bo")
    ada.starts()
    bo.starts()
    await bot.send_message(ada.id, "one")
    with pytest.raises(RetryAfter) as refused:
        await bot.send_message(ada.id, "two")
    assert refused.value.retry_after.total_seconds() == 1
    await bot.send_message(bo.id, "one")
    clock.advance(0.5)
    with pytest.raises(RetryAfter):
        await bot.send_message(ada.id, "two")
    clock.advance(0.6)
    await bot.send_message(ada.id, "two")
    assert ada.texts == ["one", "two"]


async def test_a_group_takes_twenty_a_minute(api: BotApi, bot: Bot, clock: ManualClock) -> None:
    api.limits.chat = None
    crew = api.group("Crew")
    crew.adds_bot(api.person("Tom"))
    for number in range(20):
        await bot.send_message(crew.id, str(number))
    clock.advance(30)
    with pytest.raises(RetryAfter) as refused:
        await bot.send_message(crew.id, "more")
    assert refused.value.retry_after.total_seconds() == 30
    clock.advance(30)
    await bot.send_message(crew.id, "more")


async def test_thirty_a_second_is_the_most_over_all_and_edits_count(api: BotApi, bot: Bot, clock: ManualClock) -> None:
    api.limits.chat = None
    people = [api.person(str(number)) for number in range(29)]
    for person in people:
        person.starts()
        await bot.send_message(person.id, "hi")
    last = await bot.send_message(people[0].id, "again")
    with pytest.raises(RetryAfter):
        await last.edit_text("changed")
    await bot.send_chat_action(people[0].id, "typing")
    clock.advance(1)
    await last.edit_text("changed")

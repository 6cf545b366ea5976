"""What was ordered to go wrong goes wrong, and the ledger says what really happened."""

import json

import httpx
import pytest
from telegram import Bot
from telegram.error import BadRequest, Forbidden, NetworkError, RetryAfter, TelegramError, TimedOut

from tests.botapi import BotApi, Fault
from tests.botapi.people import Person


@pytest.fixture
def ada(api: BotApi) -> Person:
    person = api.person("Ada")
    person.starts()
    return person


@pytest.mark.parametrize(
    ("fault", "error", "worked"),
    [
        (Fault.blocked(), Forbidden, False),
        (Fault.bad_request("chat not found"), BadRequest, False),
        (Fault.flood(4), RetryAfter, False),
        (Fault.server_error(500), NetworkError, False),
        (Fault.gateway(502), NetworkError, False),
        (Fault.drop(), NetworkError, False),
        (Fault.drop(after_the_work=True), NetworkError, True),
        (Fault.half(), NetworkError, True),
        (Fault.garbled(), TelegramError, True),
    ],
)
async def test_each_fault_shows_as_its_error_once(
    api: BotApi, bot: Bot, ada: Person, fault: Fault, error: type[TelegramError], worked: bool
) -> None:
    api.faults.order(fault, method="sendMessage")
    with pytest.raises(error):
        await bot.send_message(ada.id, "hi")
    assert (len(ada.texts), api.ledger.calls_of("sendMessage")[0].worked) == (int(worked), worked)
    await bot.send_message(ada.id, "hi")
    assert [call.outcome == "ok" for call in api.ledger.calls_of("sendMessage")] == [False, True]


@pytest.mark.parametrize(("fault", "arrived"), [(Fault.hang(), 0), (Fault.slow(30, after_the_work=True), 1)])
async def test_an_answer_that_comes_too_late_may_mean_delivered(
    api: BotApi, bot: Bot, ada: Person, fault: Fault, arrived: int
) -> None:
    api.faults.order(fault, method="sendMessage")
    with pytest.raises(TimedOut) as late:
        await bot.send_message(ada.id, "hi", read_timeout=0.2)
    assert isinstance(late.value.__cause__, httpx.ReadTimeout)
    assert len(ada.texts) == arrived


async def test_faults_choose_their_chat_wait_their_turn_and_end(api: BotApi, bot: Bot, ada: Person) -> None:
    bo = api.person("Bo")
    bo.starts()
    api.faults.order(Fault.blocked(), method="sendMessage", chat=bo.id, skip=1, times=2)
    await bot.send_message(bo.id, "1")
    for _ in range(2):
        await bot.send_message(ada.id, "x")
        with pytest.raises(Forbidden):
            await bot.send_message(bo.id, "2")
    await bot.send_message(bo.id, "3")
    assert bo.texts == ["1", "3"]


async def test_chance_is_drawn_from_the_seed(api: BotApi, bot: Bot, ada: Person) -> None:
    api.faults.order(Fault.gateway(), method="sendMessage", times=None, chance=0.5)
    outcomes = []
    for _ in range(20):
        try:
            await bot.send_message(ada.id, "x")
        except NetworkError:
            outcomes.append(False)
        else:
            outcomes.append(True)
    assert 4 < sum(outcomes) < 16
    api.faults.clear()
    await bot.send_message(ada.id, "x")


async def test_an_unreadable_update_can_be_put_in_the_queue(api: BotApi, bot: Bot) -> None:
    api.happens_raw({"callback_query": {"id": "1"}})
    with pytest.raises(TypeError):
        await bot.get_updates()


async def test_the_ledger_tells_everything_as_json(api: BotApi, bot: Bot, ada: Person) -> None:
    await bot.send_message(ada.id, "hi", disable_notification=True)
    whole = json.loads(api.ledger.to_json())
    assert [(sent["chat_id"], sent["message"]["text"], sent["silent"]) for sent in whole["sent"]] == [
        (ada.id, "hi", True)
    ]
    assert whole["calls"][-1]["method"] == "sendMessage"
    assert len(whole["made"]) == 1


async def test_a_method_that_does_not_exist_is_not_found(api: BotApi) -> None:
    async with httpx.AsyncClient() as client:
        answer = await client.post(f"{api.base_url}{api.token}/fillTheTub")
    assert (answer.status_code, answer.json()["description"]) == (404, "Not Found")

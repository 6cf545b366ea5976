"""Nothing is acknowledged before it is kept, and nothing stops the queue."""

import asyncio
import logging

import pytest
from telegram import Bot
from telegram.error import Conflict, InvalidToken
from telegram.request import HTTPXRequest

from bot.channels.telegram import TelegramChannel, TelegramRefused
from bot.channels.telegram.polling import PollingRequest
from bot.model.event import Arrival, Wrote
from bot.run.clock import WallClock
from tests.botapi import BotApi, Fault
from tests.botapi.errors import conflict
from tests.telegram.desk import Desk, channel_to


async def test_an_update_is_not_confirmed_before_it_is_kept(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    desk.broken = 2
    ada = api.person("Ada")
    ada.writes("one")
    await api.until(lambda: len(desk.asked) >= 2)
    assert api.ledger.unconfirmed() != []
    await desk.until(1)
    await api.until(lambda: not api.ledger.unconfirmed())
    assert desk.events == [Wrote(text="one")]


async def test_what_waited_during_a_stop_arrives_at_the_next_start(api: BotApi, desk: Desk) -> None:
    ada = api.person("Ada")
    for text in ("one", "two", "three"):
        ada.writes(text)
    channel = channel_to(api)
    await channel.start(desk.receive)
    await desk.until(3)
    await channel.stop()
    assert [event.text for event in desk.events if isinstance(event, Wrote)] == ["one", "two", "three"]
    assert api.ledger.unconfirmed() == []


async def test_what_is_being_kept_as_the_end_comes_is_confirmed(api: BotApi) -> None:
    class Slow(Desk):
        kept_at_last = asyncio.Event()

        async def receive(self, arrival: Arrival) -> bool:
            new = await super().receive(arrival)
            await self.kept_at_last.wait()
            return new

    desk, channel = Slow(), channel_to(api)
    api.person("Ada").writes("one")
    await channel.start(desk.receive)
    await desk.until(1)
    stopping = asyncio.create_task(channel.stop())
    await asyncio.sleep(0)
    desk.kept_at_last.set()
    await stopping
    assert api.ledger.unconfirmed() == []


async def test_an_update_that_comes_again_is_the_same_update(api: BotApi, channel: TelegramChannel, desk: Desk) -> None:
    ada = api.person("Ada")
    ada.writes("one")
    [arrival] = await desk.until(1)
    await api.until(lambda: not api.ledger.unconfirmed())
    api.repeats(int(arrival.update))
    await api.until(lambda: len(desk.asked) == 2)
    assert desk.asked == [arrival.update] * 2


async def test_an_unreadable_update_is_parked_and_the_others_arrive(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    ada = api.person("Ada")
    chat = {"id": ada.id, "type": "private"}
    with api.bell.lock:
        ada.writes("before")
        poison = {"callback_query": {"id": "1", "from": {"id": 5}, "message": {"chat": chat, "text": "/start s3cret"}}}
        parked = api.happens_raw(poison)
        ada.writes("after")
    before, unread, after = await desk.until(3)
    assert (before.event, after.event) == (Wrote(text="before"), Wrote(text="after"))
    assert (unread.event, unread.update, unread.address.chat) == (None, str(parked["update_id"]), str(ada.id))
    assert '"callback_query"' in unread.raw
    assert "s3cret" not in unread.raw
    await api.until(lambda: not api.ledger.unconfirmed())
    assert len(api.ledger.calls_of("getUpdates")) < 6


async def test_updates_out_of_order_and_twice_in_a_batch_arrive_once_in_order(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    ada = api.person("Ada")
    with api.bell.lock:
        for text in ("one", "two", "three"):
            ada.writes(text)
        api.repeats(api.updates.pending[0].update["update_id"])
        api.updates.shuffle(lambda pending: pending[::-1])
    await desk.until(3)
    await api.until(lambda: not api.updates.pending)
    assert [event.text for event in desk.events if isinstance(event, Wrote)] == ["one", "two", "three"]
    assert len(desk.asked) == 3


async def test_an_update_of_a_kind_that_nobody_knows_is_passed_over(
    api: BotApi, channel: TelegramChannel, desk: Desk
) -> None:
    api.happens_raw({"thought_transfer": {"id": 1}})
    api.person("Ada").writes("hi")
    await desk.until(1)
    await api.until(lambda: not api.ledger.unconfirmed())
    assert desk.events == [Wrote(text="hi")]


@pytest.mark.parametrize(
    "fault",
    [Fault.gateway(502), Fault.drop(), Fault.half(), Fault.garbled(), Fault.server_error()],
    ids=["gateway", "drop", "half", "garbled", "server error"],
)
async def test_polling_goes_on_after_a_fault(api: BotApi, channel: TelegramChannel, desk: Desk, fault: Fault) -> None:
    api.faults.order(fault, method="getUpdates")
    api.person("Ada").writes("hi")
    api.person("Bo").writes("ho")
    await desk.until(2)
    await api.until(lambda: not api.ledger.unconfirmed())
    assert sorted(desk.asked) == sorted(set(desk.asked))


async def test_it_connects_when_the_service_comes_back(api: BotApi, desk: Desk) -> None:
    api.faults.order(Fault.gateway(503), times=3)
    channel = channel_to(api)
    await channel.start(desk.receive)
    api.person("Ada").writes("hi")
    await desk.until(1)
    await channel.stop()


async def test_a_wrong_token_is_refused_in_a_sentence_without_the_token(
    api: BotApi, desk: Desk, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    channel = TelegramChannel("123456:very-secret-token", "dealer-1", now=WallClock().now, api_url=api.url)
    with pytest.raises(TelegramRefused, match="refuses the token") as refused:
        await channel.start(desk.receive)
    logging.getLogger("anybody").error("see %s", channel._bot, exc_info=refused.value)
    await channel.stop()
    assert "very-secret-token" not in caplog.text + str(refused.value)


async def test_the_token_is_in_no_log_of_a_whole_run(api: BotApi, desk: Desk, caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.DEBUG)
    channel = channel_to(api)
    await channel.start(desk.receive)
    api.faults.order(Fault.drop(), method="getUpdates")
    api.person("Ada").writes("hi")
    await desk.until(1)
    await channel.stop()
    logging.getLogger("anybody").error("it failed", exc_info=RuntimeError(f"could not reach /bot{api.token}/getMe"))
    assert api.token not in caplog.text
    assert "could not reach /bot[secret]/getMe" in caplog.text


async def test_what_people_write_and_the_library_s_insides_are_in_no_log(
    api: BotApi, desk: Desk, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.DEBUG)
    channel = channel_to(api)
    api.person("Ada").writes("my doctor says no")
    api.faults.order(Fault.garbled(), method="getUpdates")
    api.faults.order(Fault.half(), method="getUpdates")
    await channel.start(desk.receive)
    await desk.until(1)
    api.faults.order(Fault.drop(), method="getUpdates", times=None)
    await channel.stop()
    api.faults.clear()
    ours = [record for record in caplog.records if record.name.startswith(("bot.", "telegram"))]
    assert ours
    assert "doctor" not in caplog.text
    assert not any(record.exc_info for record in ours)


async def nowhere(_: object) -> None:
    """Nobody wants the updates."""


async def test_a_second_poller_a_refused_token_and_silence_are_named(api: BotApi) -> None:
    polling = PollingRequest(nowhere)
    rival = conflict("terminated by other getUpdates request; make sure that only one bot instance is running")
    async with HTTPXRequest() as request, polling:
        client = Bot(api.token, base_url=api.base_url, request=request, get_updates_request=polling)
        assert polling.trouble(60) is None
        assert "has not answered for" in str(polling.trouble(-1))
        api.faults.order(Fault.refuse(rival), method="getUpdates", times=3)
        for _ in range(3):
            with pytest.raises(Conflict):
                await client.get_updates()
        assert "Another process" in str(polling.trouble(60))
        await client.get_updates()
        assert polling.trouble(60) is None
        api.token = "5550001234:another"
        with pytest.raises(InvalidToken):
            await client.get_updates()
        assert "refuses the token" in str(polling.trouble(60))

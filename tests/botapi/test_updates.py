"""Updates are handed out until they are confirmed, to one poller, of the kinds asked for."""

import asyncio

import pytest
from telegram import Bot
from telegram.error import Conflict

from tests.botapi import BotApi, ManualClock


async def test_an_update_comes_again_until_a_later_offset_confirms_it(api: BotApi, bot: Bot) -> None:
    ada = api.person("Ada")
    for text in ("one", "two", "three"):
        ada.writes(text)
    first = await bot.get_updates()
    again = await bot.get_updates()
    assert [update.message.text for update in first] == ["one", "two", "three"]
    assert again == first
    rest = await bot.get_updates(offset=first[1].update_id)
    assert rest == first[1:]
    assert list(api.ledger.confirmed) == [first[0].update_id]
    assert api.ledger.unconfirmed() == [first[1].update_id, first[2].update_id]
    assert api.ledger.handed_more_than_once() == [update.update_id for update in first]


async def test_the_limit_and_a_negative_offset_cut_the_queue(api: BotApi, bot: Bot) -> None:
    ada = api.person("Ada")
    for number in range(5):
        ada.writes(str(number))
    assert [update.message.text for update in await bot.get_updates(limit=2)] == ["0", "1"]
    assert [update.message.text for update in await bot.get_updates(offset=-2)] == ["3", "4"]
    assert [update.message.text for update in await bot.get_updates()] == ["3", "4"]


async def test_a_long_poll_ends_with_the_first_update(api: BotApi, bot: Bot) -> None:
    poll = asyncio.create_task(bot.get_updates(timeout=30))
    await api.until(lambda: bool(api.ledger.calls_of("getUpdates")))
    api.person("Ada").writes("hi")
    [update] = await poll
    assert update.message.text == "hi"


async def test_a_second_poller_ends_the_first_with_409(api: BotApi, bot: Bot) -> None:
    async with Bot(api.token, base_url=api.base_url) as rival:
        first = asyncio.create_task(bot.get_updates(timeout=30))
        await api.until(lambda: api.updates.poll == 1)
        second = asyncio.create_task(rival.get_updates(timeout=30))
        with pytest.raises(Conflict, match="terminated by other getUpdates"):
            await first
        api.person("Ada").writes("hi")
        assert len(await second) == 1


async def test_the_kinds_asked_for_are_remembered(api: BotApi, bot: Bot) -> None:
    ada = api.person("Ada")
    await bot.get_updates(allowed_updates=["message"])
    message = ada.writes("7")
    ada.edits(message, "7.4")
    assert [update.message.text for update in await bot.get_updates()] == ["7"]
    await bot.get_updates(allowed_updates=[])
    ada.edits(message, "7.6")
    assert (await bot.get_updates())[-1].edited_message.text == "7.6"


async def test_nothing_is_kept_longer_than_a_day(api: BotApi, bot: Bot, clock: ManualClock) -> None:
    ada = api.person("Ada")
    ada.writes("old")
    clock.advance(23 * 3600)
    ada.writes("young")
    clock.advance(2 * 3600)
    assert [update.message.text for update in await bot.get_updates()] == ["young"]
    assert len(api.ledger.expired) == 1


async def test_a_confirmed_update_can_be_made_to_come_again(api: BotApi, bot: Bot) -> None:
    api.person("Ada").writes("one")
    [update] = await bot.get_updates()
    assert await bot.get_updates(offset=update.update_id + 1) == ()
    api.repeats(update.update_id)
    assert await bot.get_updates(offset=update.update_id + 1) == (update,)
    assert await bot.get_updates(offset=update.update_id + 1) == ()


async def test_updates_can_come_out_of_order(api: BotApi, bot: Bot) -> None:
    ada = api.person("Ada")
    ada.writes("one")
    ada.writes("two")
    api.updates.shuffle(lambda pending: pending[::-1])
    assert [update.message.text for update in await bot.get_updates()] == ["two", "one"]


async def test_everything_a_person_can_send_is_read_by_the_library(api: BotApi, bot: Bot) -> None:
    ada = api.person("Ada", last_name="Brook", username="ada_b", language_code="de")
    ada.sends_photo(caption="look", album="5")
    for kind in ("document", "video", "voice", "audio", "sticker", "animation", "video_note"):
        ada.sends_file(kind)
    ada.sends_location(48.1, 11.5)
    ada.sends_contact("+4989000", "Bo")
    ada.sends({"dice": {"emoji": "\N{GAME DIE}", "value": 6}})
    ada.writes("seven", forwarded_from="Somebody")
    ada.starts("abc")
    ada.blocks()
    updates = await bot.get_updates()
    attached = [type(update.message.effective_attachment).__name__ for update in updates[:11]]
    assert attached == [
        "tuple",
        "Document",
        "Video",
        "Voice",
        "Audio",
        "Sticker",
        "Animation",
        "VideoNote",
        "Location",
        "Contact",
        "Dice",
    ]
    assert updates[11].message.forward_origin.sender_user_name == "Somebody"
    assert updates[12].message.parse_entities() == {updates[12].message.entities[0]: "/start"}
    change = updates[13].my_chat_member
    assert (change.old_chat_member.status, change.new_chat_member.status) == ("member", "kicked")

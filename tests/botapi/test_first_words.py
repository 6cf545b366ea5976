"""The library, unmodified, talks with the double."""

import pytest
from telegram import Bot, InlineKeyboardButton, InlineKeyboardMarkup, Update
from telegram.error import Forbidden, InvalidToken
from telegram.ext import Application, CallbackQueryHandler, CommandHandler, MessageHandler, filters
from telegram.request import HTTPXRequest

from tests.botapi import BotApi
from tests.botapi.expect import refused


async def test_getme_names_the_bot(bot: Bot) -> None:
    me = await bot.get_me()
    assert (me.is_bot, me.username, me.can_read_all_group_messages) == (True, "brimful_double_bot", False)


async def test_a_wrong_token_is_refused(api: BotApi) -> None:
    request = HTTPXRequest()
    async with request:
        with pytest.raises(InvalidToken):
            await Bot("1:wrong", base_url=api.base_url, request=request, get_updates_request=request).get_me()


async def test_a_whole_conversation_runs_through_the_application(api: BotApi) -> None:
    async def start(update: Update, context: object) -> None:
        keyboard = InlineKeyboardMarkup([[InlineKeyboardButton("Done", callback_data="done:1")]])
        await update.message.reply_text(f"Hello {update.effective_user.first_name}", reply_markup=keyboard)

    async def press(update: Update, context: object) -> None:
        await update.callback_query.answer("noted")
        await update.callback_query.edit_message_text(f"pressed {update.callback_query.data}")

    async def echo(update: Update, context: object) -> None:
        await update.message.reply_text(update.message.text[::-1])

    builder = Application.builder().token(api.token).base_url(api.base_url).base_file_url(api.base_file_url)
    application = builder.job_queue(None).build()
    application.add_handler(CommandHandler("start", start))
    application.add_handler(CallbackQueryHandler(press))
    application.add_handler(MessageHandler(filters.TEXT, echo))
    ada = api.person("Ada")
    async with application:
        await application.start()
        await application.updater.start_polling(timeout=5)
        ada.starts("invite-1")
        await ada.hears("Hello Ada")
        ada.writes("abc")
        await ada.hears("cba")
        press_ = ada.presses("Done")
        await ada.hears("pressed done:1")
        await application.updater.stop()
        await application.stop()
    assert api.queries[press_["id"]].text == "noted"
    assert ada.texts == ["pressed done:1", "cba"]
    assert api.ledger.unconfirmed() == []


async def test_a_stranger_cannot_be_written_to_first(api: BotApi, bot: Bot) -> None:
    zed = api.person("Zed")
    with pytest.raises(Forbidden, match="can't initiate conversation"):
        await bot.send_message(zed.id, "hello")
    with refused("Chat not found"):
        await bot.send_message(42, "hello")


async def test_blocking_refuses_with_403_and_tells_the_bot(api: BotApi, bot: Bot) -> None:
    ada = api.person("Ada")
    ada.starts()
    ada.blocks()
    with pytest.raises(Forbidden, match="blocked by the user"):
        await bot.send_message(ada.id, "hello")
    changes = [update.my_chat_member for update in await bot.get_updates() if update.my_chat_member]
    assert [change.new_chat_member.status for change in changes] == ["kicked"]
    ada.unblocks()
    await bot.send_message(ada.id, "hello again")
    assert ada.texts == ["hello again"]

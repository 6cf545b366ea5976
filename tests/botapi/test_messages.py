"""What the service takes as a message, and what it refuses, in its own words."""

import html

import pytest
from hypothesis import given
from hypothesis import strategies as st
from telegram import Bot, InlineKeyboardButton, InlineKeyboardMarkup, ReplyParameters
from telegram.constants import ParseMode

from tests.botapi import BotApi, ManualClock
from tests.botapi.errors import Refusal
from tests.botapi.expect import refused
from tests.botapi.people import Person
from tests.botapi.text import parse_html, units


@pytest.fixture
def ada(api: BotApi) -> Person:
    person = api.person("Ada")
    person.starts()
    return person


def keyboard(*labels: str) -> InlineKeyboardMarkup:
    return InlineKeyboardMarkup([[InlineKeyboardButton(label, callback_data=label.lower())] for label in labels])


async def test_html_becomes_text_and_entities(bot: Bot, ada: Person) -> None:
    source = '<b>\N{BATHTUB} pH</b> &lt;7.2 <a href="https://example.org/?a=1&amp;b=2">why <i>so</i></a>'
    message = await bot.send_message(ada.id, source, parse_mode=ParseMode.HTML)
    assert message.text == "\N{BATHTUB} pH <7.2 why so"
    found = {entity.type: text for entity, text in message.parse_entities().items()}
    assert found == {"bold": "\N{BATHTUB} pH", "text_link": "why so", "italic": "so"}
    assert message.entities[1].url == "https://example.org/?a=1&b=2"


@pytest.mark.parametrize(
    ("source", "complaint"),
    [
        ("a <3", "Unclosed start tag at byte offset 2"),
        ("é <blink>x</blink>", 'Unsupported start tag "blink" at byte offset 3'),
        ("<b>x", 'Can\'t find end tag corresponding to start tag "b"'),
        ("<b>x</i>", 'Unmatched end tag at byte offset 4, expected "</b>", found "</i>"'),
        ("x</b>", "Unexpected end tag at byte offset 1"),
        ("<b>x</b", "Unclosed end tag at byte offset 4"),
        ("<span>x</span>", 'Tag "span" must have class "tg-spoiler"'),
    ],
)
async def test_broken_html_is_refused_with_its_place(bot: Bot, ada: Person, source: str, complaint: str) -> None:
    with refused(f"can't parse entities: {complaint}"):
        await bot.send_message(ada.id, source, parse_mode=ParseMode.HTML)


@given(st.text(max_size=200))
def test_whatever_is_escaped_comes_back_as_it_was(text: str) -> None:
    assert parse_html(html.escape(text)) in ((text, []), (text.replace("'", "&#x27;"), []))


@given(st.text(st.sampled_from('<>/b i&;="ahref\n\N{BATHTUB}'), max_size=40))
def test_any_markup_is_read_or_refused(source: str) -> None:
    try:
        text, entities = parse_html(source)
    except Refusal as refusal:
        complaint = refusal.description
        text, entities = "", []
    else:
        complaint = "Bad Request: can't parse entities: none"
    assert complaint.startswith("Bad Request: can't parse entities: ")
    assert all(0 <= entity["offset"] < entity["offset"] + entity["length"] <= units(text) for entity in entities)


async def test_length_is_counted_in_utf16_after_parsing(bot: Bot, ada: Person) -> None:
    await bot.send_message(ada.id, "<b>" + "&lt;" * 4096 + "</b>", parse_mode=ParseMode.HTML)
    await bot.send_message(ada.id, "\N{BATHTUB}" * 2048)
    with refused("too long"):
        await bot.send_message(ada.id, "\N{BATHTUB}" * 2048 + "x")


@pytest.mark.parametrize("text", [" ", "\n", "<b> </b>"])
async def test_an_empty_text_is_refused(bot: Bot, ada: Person, text: str) -> None:
    with refused("text is empty"):
        await bot.send_message(ada.id, text, parse_mode=ParseMode.HTML)


@pytest.mark.parametrize("data", ["x" * 65, "é" * 33, ""])
async def test_callback_data_has_1_to_64_bytes(bot: Bot, ada: Person, data: str) -> None:
    wrong = InlineKeyboardMarkup([[InlineKeyboardButton("Done", callback_data=data)]])
    with refused("button_data_invalid"):
        await bot.send_message(ada.id, "hi", reply_markup=wrong)
    fitting = InlineKeyboardMarkup([[InlineKeyboardButton("Done", callback_data="é" * 32)]])
    await bot.send_message(ada.id, "hi", reply_markup=fitting)


async def test_a_button_without_an_action_and_too_many_buttons_are_refused(bot: Bot, ada: Person) -> None:
    with refused("text buttons are unallowed"):
        await bot.send_message(ada.id, "hi", reply_markup=InlineKeyboardMarkup([[InlineKeyboardButton("Done")]]))
    with refused("reply_markup_too_long"):
        await bot.send_message(ada.id, "hi", reply_markup=keyboard(*map(str, range(101))))


async def test_a_reply_needs_its_message_unless_told_otherwise(bot: Bot, ada: Person) -> None:
    missing = ReplyParameters(message_id=999_999)
    with refused("message to be replied not found"):
        await bot.send_message(ada.id, "hi", reply_parameters=missing)
    lenient = ReplyParameters(message_id=999_999, allow_sending_without_reply=True)
    assert (await bot.send_message(ada.id, "hi", reply_parameters=lenient)).reply_to_message is None


async def test_edits_follow_the_service_s_rules(bot: Bot, ada: Person) -> None:
    message = await bot.send_message(ada.id, "Which?", reply_markup=keyboard("Done", "Stuck"))
    with refused("message is not modified"):
        await message.edit_text("Which?", reply_markup=keyboard("Done", "Stuck"))
    edited = await message.edit_text("That one")
    assert (edited.text, edited.reply_markup, edited.edit_date is not None) == ("That one", None, True)
    with refused("message is not modified"):
        await message.edit_reply_markup(None)
    await message.edit_reply_markup(keyboard("Back"))
    assert ada.labels == ["Back"]
    with refused("message to edit not found"):
        await bot.edit_message_text("x", ada.id, 999_999)
    with refused("message can't be edited"):
        await bot.edit_message_text("x", ada.id, ada.writes("mine")["message_id"])


async def test_deleting_and_copying(bot: Bot, ada: Person, clock: ManualClock) -> None:
    question = ada.writes("Is this right?")
    copy = await bot.copy_message(ada.id, ada.id, question["message_id"])
    assert ada.texts == ["Is this right?"]
    forwarded = await bot.forward_message(ada.id, ada.id, question["message_id"])
    assert forwarded.forward_origin.sender_user.first_name == "Ada"
    assert await bot.delete_message(ada.id, copy.message_id)
    with refused("message to delete not found"):
        await bot.delete_message(ada.id, copy.message_id)
    with refused("message to copy not found"):
        await bot.copy_message(ada.id, ada.id, copy.message_id)
    clock.advance(49 * 3600)
    with refused("can't be deleted"):
        await bot.delete_message(ada.id, forwarded.message_id)


async def test_a_press_is_answered_once_and_soon(api: BotApi, bot: Bot, ada: Person, clock: ManualClock) -> None:
    await bot.send_message(ada.id, "Which?", reply_markup=keyboard("Done"))
    press = ada.presses("Done")
    assert await bot.answer_callback_query(press["id"], "noted", show_alert=True)
    assert (api.queries[press["id"]].text, api.queries[press["id"]].alert) == ("noted", True)
    with refused("query is too old"):
        await bot.answer_callback_query(press["id"])
    late = ada.presses("Done")
    clock.advance(16)
    with refused("query is too old"):
        await bot.answer_callback_query(late["id"])


async def test_a_button_that_nobody_has_cannot_be_pressed(bot: Bot, ada: Person) -> None:
    await bot.send_message(ada.id, "Which?", reply_markup=keyboard("Done"))
    with pytest.raises(LookupError, match=r"no message with a button 'Stuck'; newest: \['Done'\]"):
        ada.presses("Stuck")


async def test_the_newest_of_several_buttons_is_pressed(bot: Bot, ada: Person) -> None:
    for text in ("first", "second"):
        await bot.send_message(ada.id, text, reply_markup=keyboard("Done"))
    assert ada.presses("Done")["message"]["text"] == "second"


async def test_commands_are_checked_and_kept(bot: Bot) -> None:
    await bot.set_my_commands([("test", "Test the water")], language_code="en")
    [command] = await bot.get_my_commands(language_code="en")
    assert (command.command, command.description) == ("test", "Test the water")
    assert await bot.get_my_commands() == ()
    with refused("bot_command_invalid"):
        await bot.set_my_commands([("Test Me", "x")])


async def test_typing_takes_known_actions_only(bot: Bot, ada: Person) -> None:
    assert await bot.send_chat_action(ada.id, "typing")
    with refused("wrong parameter action"):
        await bot.send_chat_action(ada.id, "dancing")

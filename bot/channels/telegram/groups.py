"""What is said in a group, as far as it is said to the bot: a command, a case's topic, a reply to what it said."""

import re

from telegram import CallbackQuery, Message, User

from bot.model.event import GroupMoved, GroupNamed
from bot.model.group import Place

COMMAND = re.compile(r"/cases(?:@(?P<bot>\w+))?\s*", re.IGNORECASE)
"""With it one of the dealer's people has the cases come to a group."""
CASE = re.compile(r".*\((?P<case>[^()\s]{1,64})\)")
"""The first line of a message that went to a whole group, as `topics` puts it in front."""


def in_group(message: Message, me: User) -> tuple[Place, GroupNamed | None] | None:
    """Where a message was put, and the group itself where it asks for the cases; None if it is not for the bot."""
    command = COMMAND.fullmatch(message.text or "")
    if command and (command["bot"] or me.username or "").casefold() == (me.username or "").casefold():
        title = message.chat.title or ""
        return _place(message), GroupNamed(title=title, has_topics=bool(message.chat.is_forum))
    place = _place(message, me)
    return (place, None) if place.thread or place.case else None


def place_of(press: CallbackQuery) -> Place:
    """Where a button was pressed; the message that it was on may be gone."""
    thread = ""
    if isinstance(press.message, Message) and press.message.is_topic_message:
        thread = str(press.message.message_thread_id or "")
    return Place(by=str(press.from_user.id), thread=thread)


def migration(message: Message) -> tuple[int, GroupMoved] | None:
    """The old chat and what it has become, if the message tells of that."""
    if message.migrate_to_chat_id is not None:
        return message.chat.id, GroupMoved(to=str(message.migrate_to_chat_id))
    if message.migrate_from_chat_id is not None:
        return message.migrate_from_chat_id, GroupMoved(to=str(message.chat.id), arrived=True)
    return None


def _place(message: Message, me: User | None = None) -> Place:
    """Who said it, in which topic, and about which case; nobody in particular who speaks in the group's name."""
    by = str(message.from_user.id) if message.from_user and message.sender_chat is None else ""
    if message.is_topic_message:
        return Place(by=by, thread=str(message.message_thread_id or ""))
    answered = message.reply_to_message
    if me is None or answered is None or answered.from_user is None or answered.from_user.id != me.id:
        return Place(by=by)
    first = (answered.text or answered.caption or "").partition("\n")[0]
    found = CASE.fullmatch(first)
    return Place(by=by, case=found["case"] if found else "")

"""Every kind of update in our own words."""

import re
from dataclasses import dataclass, replace
from datetime import datetime

from telegram import CallbackQuery, ChatMember, ChatMemberUpdated, Message, Update, User
from telegram.constants import ChatType
from telegram.ext.filters import StatusUpdate

from bot.channels.telegram.groups import in_group, migration, place_of
from bot.model.event import Began, Blocked, Event, File, FileKind, Sent, Tapped, Unblocked, Wrote
from bot.model.group import Place
from bot.model.person import digest_of

WANTED = ["message", "edited_message", "callback_query", "my_chat_member"]
"""The kinds of update to ask for; what is not here the service does not send."""
LONGEST_NAME = 64
START = re.compile(r"/start(?:@\w+)?(?:\s+(?P<payload>\S+))?\s*")
PAYLOAD = re.compile(r"[A-Za-z0-9_-]{1,64}")
ATTACHED: tuple[tuple[str, FileKind], ...] = (
    ("voice", "voice"),
    ("audio", "audio"),
    ("video", "video"),
    ("animation", "video"),
    ("video_note", "video"),
    ("document", "document"),
    ("sticker", "sticker"),
)
"""Where a message holds a file, and what we call it; an animation is a document too, so it comes first."""
AWAY = {ChatMember.BANNED, ChatMember.LEFT}


@dataclass(frozen=True)
class Reading:
    """What an update says. `at` is None where the update does not say when."""

    chat: int
    event: Event
    at: datetime | None = None
    name: str = ""
    language: str | None = None
    group: Place | None = None


def read(update: Update, me: User) -> Reading | None:
    """What an update says to the bot `me`.

    None where it is nothing to it: what people say to each other in a group, service messages, changed captions.
    """
    if update.message is not None:
        if StatusUpdate.ALL.check_update(update):
            return _moved(update.message)
        return _message(update.message, me)
    if update.edited_message is not None:
        return _edited(update.edited_message, me)
    if update.callback_query is not None:
        return _press(update.callback_query)
    if update.my_chat_member is not None:
        return _membership(update.my_chat_member)
    return None


def clean(text: str) -> str:
    """The text without halves of characters, which nothing can store."""
    return text.encode("utf-8", "replace").decode()


def _moved(message: Message) -> Reading | None:
    """A group that has become another chat, said in the old one or in the new one."""
    if (move := migration(message)) is None:
        return None
    old, event = move
    return Reading(old, event, message.date, group=Place())


def _message(message: Message, me: User) -> Reading | None:
    """A text, a start, or files."""
    if message.chat.type != ChatType.PRIVATE:
        found = in_group(message, me)
        if found is None:
            return None
        place, named = found
        return replace(_from(message, message.from_user, named or _content(message)), group=place)
    if message.text is None:
        return _from(message, message.from_user, _content(message))
    text = clean(message.text)
    forwarded = message.forward_origin is not None
    if not forwarded and (start := START.fullmatch(text)):
        return _from(message, message.from_user, Began(invite=_invite(start["payload"])))
    return _from(message, message.from_user, Wrote(text=text, forwarded=forwarded))


def _content(message: Message) -> Event:
    """Words or a file."""
    if message.text is not None:
        return Wrote(text=clean(message.text), forwarded=message.forward_origin is not None)
    return Sent(files=(_file(message),), caption=clean(message.caption or ""), album=message.media_group_id or "")


def _invite(payload: str | None) -> str | None:
    return digest_of(payload) if payload and PAYLOAD.fullmatch(payload) else None


def _edited(message: Message, me: User) -> Reading | None:
    if message.text is None:
        return None
    place: Place | None = None
    if message.chat.type != ChatType.PRIVATE:
        found = in_group(message, me)
        if found is None or found[1] is not None:
            return None
        place = found[0]
    forwarded = message.forward_origin is not None
    event = Wrote(text=clean(message.text), edited=True, forwarded=forwarded)
    return replace(_from(message, message.from_user, event, message.edit_date), group=place)


def _press(press: CallbackQuery) -> Reading | None:
    """A press; the message that it was on may be gone, then the chat is the presser's own."""
    chat = press.message.chat if press.message else None
    if press.data is None:
        return None
    place = None if chat is None or chat.type == ChatType.PRIVATE else place_of(press)
    return Reading(
        chat.id if chat else press.from_user.id,
        Tapped(data=clean(press.data)),
        None,
        _name(press.from_user),
        press.from_user.language_code,
        place,
    )


def _membership(change: ChatMemberUpdated) -> Reading | None:
    if change.chat.type == ChatType.CHANNEL:
        return None
    place = None if change.chat.type == ChatType.PRIVATE else Place(by=str(change.from_user.id))
    was_away, is_away = change.old_chat_member.status in AWAY, change.new_chat_member.status in AWAY
    if was_away == is_away:
        return None
    event: Event = Blocked() if is_away else Unblocked()
    return Reading(change.chat.id, event, change.date, _name(change.from_user), change.from_user.language_code, place)


def _from(message: Message, sender: User | None, event: Event, at: datetime | None = None) -> Reading:
    name, language = (_name(sender), sender.language_code) if sender else ("", None)
    return Reading(message.chat.id, event, at or message.date, name, language)


def _name(user: User) -> str:
    """The sender's name without control characters, which could turn the text around it."""
    shown = "".join(character for character in clean(user.full_name) if character.isprintable())
    return shown[:LONGEST_NAME].strip()


def _file(message: Message) -> File:
    """What is attached. A contact or anything unknown is known by its message, so that it can be passed on as it is."""
    if message.photo:
        largest = max(message.photo, key=lambda size: size.width * size.height)
        return File(what="photo", reference=largest.file_id, size=largest.file_size)
    for attribute, what in ATTACHED:
        if attached := getattr(message, attribute):
            name = clean(getattr(attached, "file_name", None) or "")
            return File(what=what, reference=attached.file_id, name=name, size=attached.file_size)
    if place := message.location:
        return File(what="location", reference=f"{place.latitude},{place.longitude}")
    return File(what="contact" if message.contact else "other", reference=str(message.message_id))

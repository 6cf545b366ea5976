"""What every sending method shares: the chat, the thread, the reply, the keyboard, the formatted text."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.botapi.chats import Chat, Post
from tests.botapi.errors import Json, bad_request
from tests.botapi.markup import checked
from tests.botapi.text import CAPTION_LIMIT, TEXT_LIMIT, commands, parse_html, trimmed, units

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params


def formatted(params: Params, name: str, limit: int) -> Json:
    """The `text` or `caption` and its entities after parsing; 400 where it is too long or cannot be parsed."""
    source = params.text(name)
    mode = params.text("parse_mode")
    given = params.tree("entities" if name == "text" else "caption_entities") or []
    if mode.lower() == "html":
        text, entities = parse_html(source)
    elif mode:
        raise bad_request("unsupported parse_mode")
    else:
        text, entities = source, [_entity(entity, units(source)) for entity in given]
    text, entities = trimmed(text, entities)
    if units(text) > limit:
        raise bad_request("message is too long" if name == "text" else "message caption is too long")
    if not text:
        return {}
    entities = sorted([*entities, *commands(text)], key=lambda entity: (entity["offset"], -entity["length"]))
    key = "entities" if name == "text" else "caption_entities"
    return {name: text} | ({key: entities} if entities else {})


def _entity(entity: object, length: int) -> Json:
    if not isinstance(entity, dict) or not {"type", "offset", "length"} <= set(entity):
        raise bad_request("can't parse MessageEntity")
    if entity["offset"] < 0 or entity["length"] <= 0 or entity["offset"] + entity["length"] > length:
        raise bad_request("entity lies outside of the text")
    return entity


def text_content(params: Params) -> Json:
    """The content of a text message."""
    content = formatted(params, "text", TEXT_LIMIT)
    if not content:
        raise bad_request("message text is empty")
    return content


def caption_content(params: Params) -> Json:
    """A caption, if there is one."""
    return formatted(params, "caption", CAPTION_LIMIT)


def target(api: BotApi, params: Params) -> Chat:
    """The chat to send to, open to the bot, its thread too."""
    chat = api.chats.find(params.text("chat_id"))
    chat.check_open()
    chat.check_thread(params.integer("message_thread_id"))
    return chat


def surroundings(chat: Chat, params: Params) -> Json:
    """Thread, reply and keyboard of a message about to be sent."""
    around: Json = {}
    if thread := params.integer("message_thread_id"):
        around |= {"message_thread_id": thread, "is_topic_message": True}
    if replied := _replied(chat, params):
        around["reply_to_message"] = {key: v for key, v in replied.message.items() if key != "reply_to_message"}
    if (markup := params.tree("reply_markup")) is not None:
        shown = checked(markup)
        if shown.get("inline_keyboard", True):
            around["reply_markup"] = shown
    return around


def _replied(chat: Chat, params: Params) -> Post | None:
    reply = params.tree("reply_parameters")
    if reply is None:
        return None
    if not isinstance(reply, dict) or not isinstance(reply.get("message_id"), int):
        raise bad_request("can't parse reply parameters JSON object")
    post = chat.posts.get(reply["message_id"])
    if post is None and not reply.get("allow_sending_without_reply"):
        raise bad_request("message to be replied not found")
    return post


def send(api: BotApi, chat: Chat, params: Params, method: str, content: Json) -> Json:
    """Put the message into the chat and show it. Only an inline keyboard is part of what is shown."""
    content = content | surroundings(chat, params)
    keyboard = content.get("reply_markup", {})
    post = api.send(
        method,
        chat,
        content if "inline_keyboard" in keyboard else {k: v for k, v in content.items() if k != "reply_markup"},
        silent=params.flag("disable_notification"),
        protected=params.flag("protect_content"),
    )
    return post.message

"""Sending, copying, forwarding, deleting."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.botapi.chats import Post
from tests.botapi.errors import Json, bad_request
from tests.botapi.methods.compose import caption_content, send, target, text_content
from tests.botapi.methods.registry import method

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params

ACTIONS = {
    "typing",
    "upload_photo",
    "record_video",
    "upload_video",
    "record_voice",
    "upload_voice",
    "upload_document",
    "choose_sticker",
    "find_location",
    "record_video_note",
    "upload_video_note",
}
CONTENT = (
    "text",
    "entities",
    "caption",
    "caption_entities",
    "photo",
    "document",
    "video",
    "voice",
    "audio",
    "animation",
    "sticker",
    "video_note",
    "location",
    "contact",
)
DELETABLE_SECONDS = 48 * 3600


@method("sendMessage", counts=True)
def send_message(api: BotApi, params: Params) -> Json:
    """A text."""
    chat = target(api, params)
    return send(api, chat, params, "sendMessage", text_content(params))


@method("sendLocation", counts=True)
def send_location(api: BotApi, params: Params) -> Json:
    """A place."""
    chat = target(api, params)
    try:
        place = {"latitude": float(params.text("latitude")), "longitude": float(params.text("longitude"))}
    except ValueError:
        raise bad_request("latitude is empty") from None
    return send(api, chat, params, "sendLocation", {"location": place})


@method("sendContact", counts=True)
def send_contact(api: BotApi, params: Params) -> Json:
    """Somebody's phone number."""
    chat = target(api, params)
    phone, name = params.text("phone_number"), params.text("first_name")
    if not phone or not name:
        raise bad_request("phone number and first name must be non-empty")
    return send(api, chat, params, "sendContact", {"contact": {"phone_number": phone, "first_name": name}})


@method("sendChatAction")
def send_chat_action(api: BotApi, params: Params) -> bool:
    """The typing indicator and its like."""
    target(api, params)
    if params.text("action") not in ACTIONS:
        raise bad_request("wrong parameter action in request")
    return True


@method("copyMessage", counts=True)
def copy_message(api: BotApi, params: Params) -> Json:
    """The same content as a message of the bot's own."""
    chat = target(api, params)
    original = _original(api, params, "copy")
    content = {key: value for key, value in original.message.items() if key in CONTENT}
    if not content:
        raise bad_request("message can't be copied")
    if "text" not in content and "caption" in params.values:
        content = {key: value for key, value in content.items() if not key.startswith("caption")}
        content |= caption_content(params)
    message = send(api, chat, params, "copyMessage", content)
    return {"message_id": message["message_id"]}


@method("forwardMessage", counts=True)
def forward_message(api: BotApi, params: Params) -> Json:
    """The same content with its author named."""
    chat = target(api, params)
    original = _original(api, params, "forward")
    content = {key: value for key, value in original.message.items() if key in CONTENT}
    if not content or original.protected:
        raise bad_request("message can't be forwarded")
    origin = {"type": "user", "sender_user": original.message["from"], "date": original.message["date"]}
    return send(api, chat, params, "forwardMessage", content | {"forward_origin": origin})


@method("deleteMessage")
def delete_message(api: BotApi, params: Params) -> bool:
    """One message, its own or in a private chat anybody's, for two days."""
    chat = api.chats.find(params.text("chat_id"))
    chat.check_open()
    _delete(api, chat.posts.get(params.integer("message_id")), chat.posts, may_any=chat.type == "private")
    return True


@method("deleteMessages")
def delete_messages(api: BotApi, params: Params) -> bool:
    """Several; those that are not there are passed over."""
    chat = api.chats.find(params.text("chat_id"))
    chat.check_open()
    numbers = params.tree("message_ids")
    if not isinstance(numbers, list) or not 1 <= len(numbers) <= 100:
        raise bad_request("message identifiers are not specified")
    for number in numbers:
        if int(number) in chat.posts:
            _delete(api, chat.posts[int(number)], chat.posts, may_any=chat.type == "private")
    return True


def _delete(api: BotApi, post: Post | None, posts: dict[int, Post], *, may_any: bool) -> None:
    if post is None:
        raise bad_request("message to delete not found")
    old = api.clock.now() - post.message["date"] > DELETABLE_SECONDS
    if old or not (post.by_bot or may_any):
        raise bad_request("message can't be deleted for everyone")
    del posts[post.message["message_id"]]


def _original(api: BotApi, params: Params, what: str) -> Post:
    source = api.chats.find(params.text("from_chat_id"))
    post = source.posts.get(params.integer("message_id"))
    if post is None:
        raise bad_request(f"message to {what} not found")
    return post

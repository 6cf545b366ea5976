"""Asking about the bot, chats, members and files."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.botapi.chats import Chat
from tests.botapi.errors import Json, bad_request
from tests.botapi.files import LARGEST_DOWNLOAD
from tests.botapi.groups import Group
from tests.botapi.methods.registry import method

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params


@method("getMe")
def get_me(api: BotApi, params: Params) -> Json:
    """The bot's own account."""
    return api.me.json() | {
        "can_join_groups": True,
        "can_read_all_group_messages": not api.privacy,
        "supports_inline_queries": False,
        "can_connect_to_business": False,
        "has_main_web_app": False,
    }


@method("getChat")
def get_chat(api: BotApi, params: Params) -> Json:
    """A chat in full."""
    chat = _known(api, params)
    accepted = ("unlimited_gifts", "limited_gifts", "unique_gifts", "premium_subscription", "gifts_from_channels")
    return chat.json() | {
        "accent_color_id": 3,
        "max_reaction_count": 11,
        "accepted_gift_types": dict.fromkeys(accepted, False),
    }


@method("getChatMember")
def get_chat_member(api: BotApi, params: Params) -> Json:
    """How an account stands in a chat."""
    chat = _known(api, params)
    user_id = params.integer("user_id")
    if user_id == api.me.id:
        return Group(api, chat).member(chat.bot_status)
    if user_id not in api.chats.users:
        raise bad_request("user not found")
    status = "member" if user_id in chat.members or user_id == chat.id else "left"
    return {"user": api.chats.users[user_id].json(), "status": status}


@method("getFile")
def get_file(api: BotApi, params: Params) -> Json:
    """Where to download a file from."""
    stored = api.files.by_id.get(params.text("file_id"))
    if stored is None:
        raise bad_request("wrong file_id or the file is temporarily unavailable")
    if stored.size > LARGEST_DOWNLOAD:
        raise bad_request("file is too big")
    return {
        "file_id": stored.id,
        "file_unique_id": stored.id[-16:],
        "file_size": stored.size,
        "file_path": stored.path,
    }


def _known(api: BotApi, params: Params) -> Chat:
    chat = api.chats.find(params.text("chat_id"))
    if chat.type == "private" and not chat.started:
        raise bad_request("chat not found")
    return chat

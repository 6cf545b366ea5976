"""Topics of a forum group."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.botapi.chats import Chat, Topic
from tests.botapi.errors import Json, bad_request
from tests.botapi.methods.registry import method

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params

DEFAULT_COLOR = 7_322_096


@method("createForumTopic")
def create_forum_topic(api: BotApi, params: Params) -> Json:
    """A new topic; its thread id is the id of the message that announces it."""
    forum = _forum(api, params)
    name = _name(params)
    post = api.put(forum, {"forum_topic_created": {"name": name, "icon_color": DEFAULT_COLOR}}, api.me)
    thread = post.message["message_id"]
    post.message |= {"message_thread_id": thread, "is_topic_message": True}
    forum.topics[thread] = Topic(thread, name)
    return {"message_thread_id": thread, "name": name, "icon_color": DEFAULT_COLOR}


@method("editForumTopic")
def edit_forum_topic(api: BotApi, params: Params) -> bool:
    """Another name."""
    topic = _topic(_forum(api, params), params)
    if params.text("name"):
        name = _name(params)
        if name == topic.name:
            raise bad_request("TOPIC_NOT_MODIFIED")
        topic.name = name
    return True


@method("closeForumTopic")
def close_forum_topic(api: BotApi, params: Params) -> bool:
    """Nobody writes here any more."""
    return _set_closed(api, params, closed=True)


@method("reopenForumTopic")
def reopen_forum_topic(api: BotApi, params: Params) -> bool:
    """Writing again."""
    return _set_closed(api, params, closed=False)


@method("deleteForumTopic")
def delete_forum_topic(api: BotApi, params: Params) -> bool:
    """The topic with its messages."""
    forum = _forum(api, params)
    topic = _topic(forum, params)
    forum.drop_topic(topic.id)
    return True


def _set_closed(api: BotApi, params: Params, *, closed: bool) -> bool:
    topic = _topic(_forum(api, params), params)
    if topic.closed == closed:
        raise bad_request("TOPIC_NOT_MODIFIED")
    topic.closed = closed
    return True


def _forum(api: BotApi, params: Params) -> Chat:
    chat = api.chats.find(params.text("chat_id"))
    chat.check_open()
    if not chat.forum:
        raise bad_request("the chat is not a forum")
    if chat.bot_status != "administrator":
        raise bad_request("not enough rights to create a topic")
    return chat


def _topic(forum: Chat, params: Params) -> Topic:
    topic = forum.topics.get(params.integer("message_thread_id"))
    if topic is None:
        raise bad_request("message thread not found")
    return topic


def _name(params: Params) -> str:
    name = params.text("name").strip()
    if not 1 <= len(name) <= 128:
        raise bad_request("TOPIC_NAME_INVALID" if name else "topic name must be non-empty")
    return name

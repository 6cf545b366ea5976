"""Changing what was sent."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.botapi.chats import Post
from tests.botapi.errors import Json, bad_request
from tests.botapi.markup import checked
from tests.botapi.methods.compose import caption_content, text_content
from tests.botapi.methods.registry import method

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params

SAME = (
    "message is not modified: specified new message content and reply markup are exactly the same "
    "as a current content and reply markup of the message"
)


@method("editMessageText", counts=True)
def edit_message_text(api: BotApi, params: Params) -> Json:
    """New text; the keyboard goes unless it is given again."""
    post = _editable(api, params)
    content = text_content(params)
    if "text" not in post.message:
        raise bad_request("there is no text in the message to edit")
    return _change(api, params, post, {"entities": None, "reply_markup": None} | content)


@method("editMessageCaption", counts=True)
def edit_message_caption(api: BotApi, params: Params) -> Json:
    """New caption; the keyboard goes unless it is given again."""
    post = _editable(api, params)
    if not {"photo", "document", "video", "voice", "audio", "animation"} & set(post.message):
        raise bad_request("there is no caption in the message to edit")
    change: Json = {"caption": None, "caption_entities": None, "reply_markup": None}
    return _change(api, params, post, change | caption_content(params))


@method("editMessageReplyMarkup", counts=True)
def edit_message_reply_markup(api: BotApi, params: Params) -> Json:
    """Another keyboard, or none."""
    return _change(api, params, _editable(api, params), {"reply_markup": None})


def _editable(api: BotApi, params: Params) -> Post:
    chat = api.chats.find(params.text("chat_id"))
    chat.check_open()
    number = params.integer("message_id")
    if number <= 0:
        raise bad_request("message identifier is not specified")
    post = chat.posts.get(number)
    if post is None:
        raise bad_request("message to edit not found")
    if not post.by_bot or "forward_origin" in post.message:
        raise bad_request("message can't be edited")
    return post


def _change(api: BotApi, params: Params, post: Post, change: Json) -> Json:
    markup = params.tree("reply_markup")
    if markup is not None:
        shown = checked(markup)
        if "inline_keyboard" not in shown:
            raise bad_request("message can't be edited")
        change["reply_markup"] = shown if shown["inline_keyboard"] else None
    after = post.message | change
    after = {key: value for key, value in after.items() if value is not None}
    if after == post.message:
        raise bad_request(SAME)
    post.message = after | {"edit_date": int(api.clock.now())}
    return post.message

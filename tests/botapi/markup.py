"""Keyboards below messages: what the service accepts, and finding a button by its label."""

from typing import Any

from tests.botapi.errors import Json, bad_request

ACTIONS = {
    "url",
    "callback_data",
    "web_app",
    "login_url",
    "switch_inline_query",
    "switch_inline_query_current_chat",
    "switch_inline_query_chosen_chat",
    "copy_text",
    "callback_game",
    "pay",
}
MOST_BUTTONS = 100
MOST_IN_A_ROW = 8


def checked(markup: Any) -> Json:
    """The reply markup as it will be shown; 400 if the service would not have it."""
    if not isinstance(markup, dict):
        raise bad_request("object expected as reply markup")
    if "inline_keyboard" in markup:
        return {"inline_keyboard": _inline(markup["inline_keyboard"])}
    if "keyboard" in markup:
        return markup | {"keyboard": _rows(markup["keyboard"])}
    if markup.get("remove_keyboard") is True or markup.get("force_reply") is True:
        return markup
    raise bad_request("can't parse reply markup")


def _rows(rows: Any) -> list[list[Json]]:
    if not isinstance(rows, list) or not all(isinstance(row, list) for row in rows):
        raise bad_request("can't parse keyboard: array of arrays of buttons expected")
    return [[{"text": button} if isinstance(button, str) else _named(button) for button in row] for row in rows if row]


def _named(button: Any) -> Json:
    if not isinstance(button, dict) or not isinstance(button.get("text"), str):
        raise bad_request('can\'t parse keyboard button: field "text" must be of type String')
    if not button["text"].strip():
        raise bad_request("inline keyboard button text must be non-empty")
    return button


def _inline(rows: Any) -> list[list[Json]]:
    named = _rows(rows)
    if sum(map(len, named)) > MOST_BUTTONS or any(len(row) > MOST_IN_A_ROW for row in named):
        raise bad_request("REPLY_MARKUP_TOO_LONG")
    for row in named:
        for button in row:
            _check_action(button)
    return named


def _check_action(button: Json) -> None:
    actions = ACTIONS & set(button)
    if not actions:
        raise bad_request("text buttons are unallowed in the inline keyboard")
    if len(actions) > 1:
        raise bad_request("inline keyboard button must have exactly one action")
    if "callback_data" in button:
        data = button["callback_data"]
        if not isinstance(data, str) or not 1 <= len(data.encode()) <= 64:
            raise bad_request("BUTTON_DATA_INVALID")
    if "url" in button and not str(button["url"]).startswith(("http://", "https://", "tg://", "mailto:", "tel:")):
        raise bad_request(f"inline keyboard button URL '{button['url']}' is invalid: Wrong HTTP URL")


def buttons(message: Json) -> list[Json]:
    """The inline buttons of a message, in reading order."""
    rows = message.get("reply_markup", {}).get("inline_keyboard", [])
    return [button for row in rows for button in row]

"""Answers to button presses."""

from __future__ import annotations

from typing import TYPE_CHECKING

from tests.botapi.errors import bad_request
from tests.botapi.methods.registry import method
from tests.botapi.text import units

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params

TOAST_LIMIT = 200


@method("answerCallbackQuery")
def answer_callback_query(api: BotApi, params: Params) -> bool:
    """Ends the waiting circle on the button, once and soon; 400 where it is too late or done already."""
    query = api.queries.get(params.text("callback_query_id"))
    if query is None or query.answered or api.clock.now() - query.made > api.query_seconds:
        raise bad_request("query is too old and response timeout expired or query ID is invalid")
    text = params.text("text")
    if units(text) > TOAST_LIMIT:
        raise bad_request("MESSAGE_TOO_LONG")
    query.answered, query.text, query.alert = True, text, params.flag("show_alert")
    return True

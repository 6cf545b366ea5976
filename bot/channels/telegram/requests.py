"""What stands between the service's answers and the library's sending."""

from http import HTTPStatus
from typing import Any

from telegram.error import BadRequest, NetworkError
from telegram.request import BaseRequest

from bot.channels.telegram.client import Answer, Client

FAILED = frozenset(
    {HTTPStatus.INTERNAL_SERVER_ERROR, HTTPStatus.BAD_GATEWAY, HTTPStatus.SERVICE_UNAVAILABLE},
)
"""Answers of a service that did not do what it was asked for; after a 504 it may have."""


WHERE_IT_IS = frozenset({"message_id", "message_thread_id", "is_topic_message", "date", "chat"})
"""What is read of a message that was sent: which one it became, and where. Its words and buttons we know."""


class ServiceFailed(NetworkError):
    """The service, or what stands in front of it, answered that it failed."""


class SendingRequest(Client):
    """Sends requests, and tells by their class the answers that the library gives one name: failed, too large.

    Of a message that was sent the library sees what is needed alone: it would make an object of every button in it.
    """

    @staticmethod
    def parse_json_payload(payload: bytes) -> dict[str, Any]:
        """The answer, a message in it without its content. TelegramError where it is no JSON."""
        answer = BaseRequest.parse_json_payload(payload)
        result = answer.get("result") if isinstance(answer, dict) else None
        if isinstance(result, dict) and "message_id" in result:
            answer["result"] = {key: value for key, value in result.items() if key in WHERE_IT_IS}
        return answer

    async def do_request(self, *args: Any, **kwargs: Any) -> Answer:  # noqa: ANN401 passed on as they come
        """Status and body of the answer. ServiceFailed and BadRequest stand for some of them."""
        code, body = await super().do_request(*args, **kwargs)
        if code in FAILED:
            raise ServiceFailed(f"the service failed ({code})")
        if code == HTTPStatus.REQUEST_ENTITY_TOO_LARGE:
            raise BadRequest("the file is too large (413)")
        return code, body

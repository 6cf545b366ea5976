"""Refusals as the service words them; a client can tell 400s apart by their text only."""

from typing import Any

Json = dict[str, Any]


class Refusal(Exception):
    """A request that is answered with `ok: false`."""

    def __init__(self, code: int, description: str, parameters: Json | None = None) -> None:
        super().__init__(description)
        self.code = code
        self.description = description
        self.parameters = parameters

    def body(self) -> Json:
        """The answer's JSON object."""
        answer: Json = {"ok": False, "error_code": self.code, "description": self.description}
        if self.parameters:
            answer["parameters"] = self.parameters
        return answer


def bad_request(text: str) -> Refusal:
    """400; `text` without its prefix."""
    return Refusal(400, f"Bad Request: {text}")


def forbidden(text: str) -> Refusal:
    """403; `text` without its prefix."""
    return Refusal(403, f"Forbidden: {text}")


def conflict(text: str) -> Refusal:
    """409; `text` without its prefix."""
    return Refusal(409, f"Conflict: {text}")


def too_many(seconds: int) -> Refusal:
    """429 that asks to wait `seconds`."""
    return Refusal(429, f"Too Many Requests: retry after {seconds}", {"retry_after": seconds})


def migrated(new_id: int) -> Refusal:
    """400 for a group that has become a supergroup."""
    return Refusal(400, "Bad Request: group chat was upgraded to a supergroup chat", {"migrate_to_chat_id": new_id})

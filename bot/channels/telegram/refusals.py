"""What an error of the library means for a message: the one place that knows."""

from telegram.error import (
    BadRequest,
    ChatMigrated,
    Conflict,
    Forbidden,
    InvalidToken,
    NetworkError,
    RetryAfter,
    TelegramError,
)

from bot.channels.telegram.client import NOT_SENT
from bot.channels.telegram.redaction import redacted
from bot.channels.telegram.requests import ServiceFailed
from bot.model.message import Refusal, RefusalKind

FORBIDDEN: tuple[tuple[str, RefusalKind], ...] = (
    ("deactivated", "gone"),
    ("chat was deleted", "gone"),
)
BAD: tuple[tuple[str, RefusalKind], ...] = (
    ("chat not found", "gone"),
    ("user not found", "gone"),
    ("peer_id_invalid", "gone"),
    ("chat was deactivated", "gone"),
    ("chat_write_forbidden", "blocked"),
    ("chat_restricted", "blocked"),
    ("not enough rights", "blocked"),
    ("have no rights", "blocked"),
    ("need administrator rights", "blocked"),
    ("topic_closed", "blocked"),
)


def refusal_of(error: TelegramError, chat_id: int) -> Refusal:
    """The refusal that an error of the library stands for, the most specific kind first.

    A `BadRequest` and a `TimedOut` are `NetworkError`s. What broke after the request had left may have been delivered,
    and so may what a gateway gave up waiting for (504).
    """
    why = redacted(str(error)) or type(error).__name__
    if isinstance(error, RetryAfter):
        # A group has a limit of its own; what else is refused concerns everything this token sends.
        return Refusal(kind="later", why=why, seconds=_seconds(error), everyone=chat_id > 0)
    if isinstance(error, ChatMigrated):
        return Refusal(kind="moved", why=why, chat=str(error.new_chat_id))
    return Refusal(kind=_kind(error, why), why=why)


def _kind(error: TelegramError, why: str) -> RefusalKind:
    match error:
        case Forbidden():
            return _by_words(why, FORBIDDEN, "blocked")
        case InvalidToken() | Conflict():
            return "broken"
        case ServiceFailed():
            return "failed"
        case BadRequest():
            return _by_words(why, BAD, "bad")
        case NetworkError() if isinstance(error.__cause__, NOT_SENT):
            return "later"
    return "unknown"


def _by_words(why: str, table: tuple[tuple[str, RefusalKind], ...], otherwise: RefusalKind) -> RefusalKind:
    said = why.casefold()
    return next((kind for words, kind in table if words in said), otherwise)


def _seconds(error: RetryAfter) -> float:
    wait = error.retry_after
    return float(wait if isinstance(wait, (int, float)) else wait.total_seconds())

"""Keeps secrets and people's words out of every log record, whoever writes it and whichever handler shows it."""

import logging
import threading
import traceback
from collections.abc import Callable
from typing import Any

HIDDEN = "[secret]"
_secrets: set[str] = set()
_lock = threading.Lock()
_installed = False


QUIET = {
    "httpx": logging.WARNING,
    "httpcore": logging.WARNING,
    "telegram": logging.WARNING,
    "telegram.request": logging.CRITICAL,
}
"""Levels of the libraries: the client names the address of each request, which holds the token, and the request logs an
answer that it cannot read, which holds what people wrote."""


def hide(secret: str) -> None:
    """Replace this secret in all log records from now on, tracebacks included, and quieten the libraries."""
    global _installed  # noqa: PLW0603 there is one logging for a process
    for name, level in QUIET.items():
        logging.getLogger(name).setLevel(level)
    with _lock:
        if secret:
            _secrets.add(secret)
        if not _installed:
            logging.setLogRecordFactory(_redacting(logging.getLogRecordFactory()))
            _installed = True


def redacted(text: str) -> str:
    """The text without any hidden secret."""
    for secret in _secrets:
        text = text.replace(secret, HIDDEN)
    return text


def _redacting(make: Callable[..., logging.LogRecord]) -> Callable[..., logging.LogRecord]:
    def record_of(*args: Any, **kwargs: Any) -> logging.LogRecord:  # noqa: ANN401 whatever logging gives
        return _clean(make(*args, **kwargs))

    return record_of


def _clean(record: logging.LogRecord) -> logging.LogRecord:
    try:
        said = record.getMessage()
    except (TypeError, ValueError, KeyError):
        return record
    error = record.exc_info[1] if record.exc_info else None
    if error is not None and record.name.startswith("telegram."):
        # The library shows its own insides for every lost connection; the error's name says as much.
        said, record.exc_info = f"{said} ({type(error).__name__})", None
        record.msg, record.args = said, ()
    if (clean := redacted(said)) != said:
        record.msg, record.args = clean, ()
    if record.exc_info and record.exc_info[0] is not None:
        trace = "".join(traceback.format_exception(*record.exc_info)).rstrip("\n")
        if (clean := redacted(trace)) != trace:
            record.exc_info, record.exc_text = None, clean
    return record

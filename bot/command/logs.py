"""The service's log: a line a record, JSON where a machine reads it, words where a person does.

People's words and secrets are in none: of an error its kind and its place are written, not what it says.
"""

import logging
import sys
from collections.abc import MutableMapping
from typing import Any

import structlog

from bot.run.engine import describe

Event = MutableMapping[str, Any]


def write_logs(level: str, *, as_json: bool) -> None:
    """Have everything that is logged written to standard error from now on."""
    show: structlog.typing.Processor = (
        structlog.processors.JSONRenderer(sort_keys=True) if as_json else structlog.dev.ConsoleRenderer(colors=False)
    )
    formatter = structlog.stdlib.ProcessorFormatter(
        foreign_pre_chain=[
            structlog.stdlib.add_log_level,
            structlog.stdlib.add_logger_name,
            structlog.processors.TimeStamper(fmt="iso", utc=True),
        ],
        processors=[structlog.stdlib.ProcessorFormatter.remove_processors_meta, _error_without_words, show],
    )
    handler = logging.StreamHandler(sys.stderr)
    handler.setFormatter(formatter)
    logging.basicConfig(level=level, handlers=[handler], force=True)


def _error_without_words(_: object, __: str, event: Event) -> Event:
    trace = event.pop("exc_info", None)
    error = trace[1] if isinstance(trace, tuple) else None
    if isinstance(error, Exception):
        event["error"] = describe(error)
    return event

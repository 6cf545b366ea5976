"""The durable inbox behind the library's polling.

The library moves its offset, and so confirms a batch, with its next question. A batch that is kept before the library
sees its numbers makes the service's own queue and our inbox one chain without a gap.
"""

import asyncio
import logging
from typing import Any, NamedTuple

from telegram import Update

Raw = dict[str, Any]

log = logging.getLogger(__name__)


class Read(NamedTuple):
    """An update as it came and as it reads, None if it can't be read."""

    raw: Raw
    update: Update | None


class InboxQueue(asyncio.Queue[object]):
    """A queue for the library's `Application`, into which no update goes: it is kept already."""

    async def put(self, item: object) -> None:
        """Let pass what is no update: the library's own signal to stop."""
        if not isinstance(item, Update):
            await super().put(item)


def read_update(raw: Raw) -> Read:
    """An update as the library reads it."""
    try:
        return Read(raw, Update.de_json(raw, None))
    except Exception as error:  # the library raises whatever it stumbles over
        log.error("update %s cannot be read (%s) and is parked", raw["update_id"], type(error).__name__)  # noqa: TRY400
        return Read(raw, None)

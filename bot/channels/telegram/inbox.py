"""The durable inbox behind the library's polling.

The library moves its offset, and so confirms a batch, once `put` has returned for every update of it. A `put` that
keeps the update first makes the service's own queue and our inbox one chain without a gap. The library asks again after
a `NetworkError`, and only then: any other error from `put` ends its polling without a word.
"""

import asyncio
import logging
from collections import defaultdict
from collections.abc import Awaitable, Callable
from typing import Any

from telegram import Update
from telegram.error import NetworkError

Keep = Callable[[list[Update]], Awaitable[None]]
"""Keeps one update durably, or the parts of an album as one."""
Park = Callable[["Raw"], Awaitable[None]]
"""Keeps an update that the library cannot read, as it came."""
Raw = dict[str, Any]
Album = tuple[int, str]
"""A chat and the id that the parts of one album share."""

log = logging.getLogger(__name__)


class InboxQueue(asyncio.Queue[object]):
    """A queue for the library's `Application`; an update goes to `keep` instead of into memory."""

    def __init__(self, keep: Keep, park: Park) -> None:
        super().__init__()
        self._keep = keep
        self._park = park
        self._batch: dict[int, tuple[Raw, Update | None]] = {}
        self._missing: dict[Album, set[int]] = {}
        self._parts: defaultdict[Album, list[Update]] = defaultdict(list)

    def expect(self, batch: list[tuple[Raw, Update | None]]) -> None:
        """The numbers of a batch are about to be put: each update as it came and as it reads, None if it can't be read.

        Its albums are kept when their last part is here, the unreadable ones as they came.
        """
        self._batch = {raw["update_id"]: (raw, update) for raw, update in batch}
        self._missing.clear()
        self._parts.clear()
        for number, (raw, update) in self._batch.items():
            if update is not None and (album := album_of(raw)):
                self._missing.setdefault(album, set()).add(number)

    def raw(self, number: int) -> Raw:
        """An update of the present batch as it came."""
        return self._batch[number][0]

    async def put(self, item: object) -> None:
        """Keep the update of this number; anything else (the library's own signal to stop) goes through the queue."""
        if not isinstance(item, Update):
            await super().put(item)
            return
        raw, update = self._batch[item.update_id]
        try:
            if update is None:
                await self._park(raw)
            elif updates := self._complete(raw, update):
                await self._keep(updates)
        except Exception as error:
            log.warning("update %d could not be kept and is asked for again: %s", item.update_id, type(error).__name__)
            raise NetworkError("the update could not be kept") from error

    def _complete(self, raw: Raw, update: Update) -> list[Update]:
        """The update itself; the parts of an album with its last one; nothing while parts are to come."""
        album = album_of(raw)
        if album is None:
            return [update]
        self._parts[album].append(update)
        missing = self._missing.get(album, set())
        missing.discard(update.update_id)
        return [] if missing else self._parts.pop(album)


def update_of(raw: Raw) -> Update | None:
    """An update as the library reads it; None if it cannot."""
    try:
        return Update.de_json(raw, None)
    except Exception as error:  # the library raises whatever it stumbles over
        log.error("update %s cannot be read (%s) and is parked", raw["update_id"], type(error).__name__)  # noqa: TRY400
        return None


def album_of(raw: Raw) -> Album | None:
    """The album that a raw update is a part of."""
    message = raw.get("message")
    if not isinstance(message, dict) or not isinstance(message.get("chat"), dict):
        return None
    chat, group = message["chat"].get("id"), message.get("media_group_id")
    return (chat, group) if isinstance(chat, int) and isinstance(group, str) else None

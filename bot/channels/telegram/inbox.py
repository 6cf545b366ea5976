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
        self._raw: dict[int, Raw] = {}
        self._unreadable: frozenset[int] = frozenset()
        self._missing: dict[Album, set[int]] = {}
        self._parts: defaultdict[Album, list[Update]] = defaultdict(list)

    def expect(self, batch: list[Raw], unreadable: frozenset[int]) -> None:
        """A batch is about to be put, the numbers of those that the library cannot read beside it.

        Its albums are kept when their last part is here, the unreadable ones as they came.
        """
        self._raw = {raw["update_id"]: raw for raw in batch}
        self._unreadable = unreadable
        self._missing.clear()
        self._parts.clear()
        for number, raw in self._raw.items():
            if number not in unreadable and (album := album_of(raw)):
                self._missing.setdefault(album, set()).add(number)

    def raw(self, number: int) -> Raw:
        """An update of the present batch as it came."""
        return self._raw.get(number, {"update_id": number})

    async def put(self, item: object) -> None:
        """Keep an update; anything else (the library's own signal to stop) goes through the queue."""
        if not isinstance(item, Update):
            await super().put(item)
            return
        try:
            if item.update_id in self._unreadable:
                await self._park(self.raw(item.update_id))
            elif updates := self._complete(item):
                await self._keep(updates)
        except Exception as error:
            log.warning("update %d could not be kept and is asked for again: %s", item.update_id, type(error).__name__)
            raise NetworkError("the update could not be kept") from error

    def _complete(self, update: Update) -> list[Update]:
        """The update itself; the parts of an album with its last one; nothing while parts are to come."""
        album = album_of(self.raw(update.update_id))
        if album is None:
            return [update]
        self._parts[album].append(update)
        missing = self._missing.get(album, set())
        missing.discard(update.update_id)
        return [] if missing else self._parts.pop(album)


def album_of(raw: Raw) -> Album | None:
    """The album that a raw update is a part of."""
    message = raw.get("message")
    if not isinstance(message, dict) or not isinstance(message.get("chat"), dict):
        return None
    chat, group = message["chat"].get("id"), message.get("media_group_id")
    return (chat, group) if isinstance(chat, int) and isinstance(group, str) else None

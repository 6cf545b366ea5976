"""The studio: makes the enclosures of messages that leave, beside the loop, and remembers the last ones.

What cannot be made never keeps a message back: its words go alone, and say so. What only takes too long is made to its
end, so that whoever asks again has it at once.
"""

import asyncio
import hashlib
import importlib
import logging
from collections import OrderedDict

from bot.model.enclosure import Enclosure, Made
from bot.model.message import Parcel

log = logging.getLogger(__name__)

MAKING_SECONDS = 12.0
"""How long making one may take, once everything that draws is loaded."""
LOADING_SECONDS = 20.0
"""How long a parcel waits for that: on a machine under load it takes many times the second it usually does."""
REMEMBERED = 32
"""How many enclosures are kept: a message that is sent again, or goes to several people, is made once."""


class Studio:
    """Makes one enclosure at a time, on another thread."""

    def __init__(self) -> None:
        self._made: OrderedDict[str, Made] = OrderedDict()
        self._making: dict[str, asyncio.Task[Made]] = {}
        self._one_by_one = asyncio.Lock()
        self._loading: asyncio.Task[None] | None = None

    async def warm_up(self) -> None:
        """Load what draws, on another thread, so that the first picture takes no longer than the next."""
        if self._loading is None:
            self._loading = asyncio.create_task(asyncio.to_thread(_load), name="studio")
        await asyncio.shield(self._loading)

    async def enclose(self, parcel: Parcel) -> Parcel:
        """The parcel with what its message encloses; where it could not be made, with words that say so."""
        message = parcel.message
        if message.enclosure is None:
            return parcel
        made = await self._make(message.enclosure)
        if made is None and message.unmade:
            bare = message.model_copy(update={"text": f"{message.text}\n\n{message.unmade}"})
            return parcel.model_copy(update={"message": bare})
        return parcel.model_copy(update={"made": made})

    async def _make(self, enclosure: Enclosure) -> Made | None:
        digest = hashlib.sha256(enclosure.model_dump_json().encode()).hexdigest()
        try:
            async with asyncio.timeout(LOADING_SECONDS):
                await self.warm_up()
            if digest not in self._making:
                self._making[digest] = asyncio.create_task(self._made_once(digest, enclosure), name="enclosure")
            async with asyncio.timeout(MAKING_SECONDS):
                return await asyncio.shield(self._making[digest])
        except Exception as error:  # whatever a drawing does wrong, the words must not be lost
            log.warning("an enclosure (%s) could not be made: %s", enclosure.kind, type(error).__name__)
            return None

    async def _made_once(self, digest: str, enclosure: Enclosure) -> Made:
        """Make it, or take it from what was made before."""
        try:
            async with self._one_by_one:
                if digest not in self._made:
                    self._made[digest] = await asyncio.to_thread(_make, enclosure)
        finally:
            del self._making[digest]
        self._made.move_to_end(digest)
        if len(self._made) > REMEMBERED:
            self._made.popitem(last=False)
        return self._made[digest]


def _load() -> None:
    importlib.import_module("bot.pictures.make")


def _make(enclosure: Enclosure) -> Made:
    from bot.pictures.make import make  # loading what draws takes a second, which only a drawing is worth

    return make(enclosure)

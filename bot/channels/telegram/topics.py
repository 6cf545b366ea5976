"""The topics of a group: a case's is opened when its first message leaves, found again, closed, and opened anew."""

import logging
import time
from collections import OrderedDict
from collections.abc import Callable
from dataclasses import dataclass

from telegram import Bot
from telegram.error import BadRequest

from bot.channels.telegram.redaction import redacted
from bot.model.group import Lapse, Topic
from bot.model.message import Parcel

REMEMBERED = 1000
"""Of how many topics it is remembered that they were opened, until the store has it."""
LONGEST_NAME = 128
"""Most characters of a topic's name (the service's published limit)."""
LOOK_AGAIN = 60.0
"""Seconds after which a group that refused a topic is asked for one again."""
REFUSED: tuple[tuple[str, Lapse], ...] = (
    ("not a forum", "no_topics"),
    ("channel_forum_missing", "no_topics"),
    ("not enough rights", "no_rights"),
    ("have no rights", "no_rights"),
    ("admin_required", "no_rights"),
    ("administrator rights", "no_rights"),
)
GONE = ("thread not found", "topic_deleted", "topic_id_invalid")
CLOSED = "topic_closed"
AS_IT_WAS = "not_modified"

log = logging.getLogger(__name__)


@dataclass(frozen=True)
class Spot:
    """Where in its chat a message goes: into a topic, or to all of the chat with a line in front of it."""

    thread: int | None = None
    front: str = ""
    opened: str | None = None
    lapse: Lapse = ""


class Topics:
    """The topics of all groups of one bot."""

    def __init__(self, bot: Bot, clock: Callable[[], float] = time.monotonic) -> None:
        self._bot = bot
        self._clock = clock
        self._opened: OrderedDict[tuple[int, str], int] = OrderedDict()
        self._without: dict[int, float] = {}

    async def spot(self, chat: int, parcel: Parcel) -> Spot:
        """Where a message goes; its topic is opened where that has not been done. A TelegramError where it can't be."""
        topic = parcel.message.topic
        if topic is None:
            return Spot()
        known = None if parcel.thread is None else int(parcel.thread)
        thread = self._opened.get((chat, topic.case), known)
        if topic.turn == "remove":
            return await self._removed(chat, topic, thread)
        if thread is None:
            return _to_all(topic) if topic.turn == "close" else await self._open(chat, topic)
        spot = Spot(thread, opened=None if thread == known else str(thread))
        return await self._reopened(chat, topic, spot) if topic.turn == "open" else spot

    async def instead(self, chat: int, parcel: Parcel, spot: Spot, error: BadRequest) -> Spot:
        """Where a message goes whose topic was deleted or closed by hand; what was refused for another reason stays
        refused.
        """
        topic, said = parcel.message.topic, error.message.casefold()
        if topic is None or spot.thread is None:
            raise error
        if any(words in said for words in GONE):
            return await self._anew(chat, topic)
        if CLOSED in said:
            return await self._reopened(chat, topic, spot)
        raise error

    async def leave(self, chat: int, parcel: Parcel, spot: Spot) -> None:
        """Close the topic behind a message that was the last."""
        topic = parcel.message.topic
        if topic is None or topic.turn != "close" or spot.thread is None:
            return
        try:
            await self._bot.close_forum_topic(chat, spot.thread)
        except BadRequest as error:
            if AS_IT_WAS not in error.message.casefold():
                log.warning("a topic could not be closed: %s", redacted(error.message))

    async def _removed(self, chat: int, topic: Topic, thread: int | None) -> Spot:
        self._opened.pop((chat, topic.case), None)
        if thread is not None:
            try:
                await self._bot.delete_forum_topic(chat, thread)
            except BadRequest as error:
                log.warning("a topic could not be removed: %s", redacted(error.message))
        return Spot()

    async def _open(self, chat: int, topic: Topic) -> Spot:
        if self._without.get(chat, 0.0) > self._clock():
            return _to_all(topic)
        try:
            made = await self._bot.create_forum_topic(chat, topic.name[:LONGEST_NAME])
        except BadRequest as error:
            said = error.message.casefold()
            lapse = next((lapse for words, lapse in REFUSED if words in said), None)
            if lapse is None:
                raise
            self._without[chat] = self._clock() + LOOK_AGAIN
            return _to_all(topic, lapse)
        self._opened[chat, topic.case] = made.message_thread_id
        if len(self._opened) > REMEMBERED:
            self._opened.popitem(last=False)
        return Spot(made.message_thread_id, opened=str(made.message_thread_id), lapse="" if topic.card else "new")

    async def _anew(self, chat: int, topic: Topic) -> Spot:
        self._opened.pop((chat, topic.case), None)
        return _to_all(topic) if topic.turn == "close" else await self._open(chat, topic)

    async def _reopened(self, chat: int, topic: Topic, spot: Spot) -> Spot:
        assert spot.thread is not None
        try:
            await self._bot.reopen_forum_topic(chat, spot.thread)
        except BadRequest as error:
            said = error.message.casefold()
            if any(words in said for words in GONE):
                return await self._anew(chat, topic)
            if AS_IT_WAS not in said:
                return _to_all(topic, "no_rights")
        return spot


def _to_all(topic: Topic, lapse: Lapse = "") -> Spot:
    """The whole group, with the case in front, so that a reply tells which case it is about."""
    return Spot(front=f"{topic.name} ({topic.case})", lapse=lapse)

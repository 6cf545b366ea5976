"""A phone on which the real engine writes: the conversation of one owner on the season's clock."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime, time, timedelta
from typing import Any

from bot.model.message import Button, Message
from bot.talk.buttons import CommandButton, ReminderButton, decode, encode
from bot.talk.words import Words, line
from tests.season.draw import Case
from tests.talk.world import Actor, World

NOON = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)
"""When every season begins."""
DAYS_AHEAD = 10
"""So far ahead a message names a day."""
ASKED = ("reminder", "bulk", "alert")
"""Lanes of what nobody asked for."""


class Faithless(Exception):
    """The bot broke down; what it said of itself is the cause."""


class _House(World):
    def _check(self) -> None:
        if self.faults:
            raise Faithless("a conversation broke down") from self.faults.pop()


class Chat:
    """One owner's chat, `at` hours after the season's beginning."""

    def __init__(self, case: Case, **tub: Any) -> None:
        self.world = _House(NOON)
        self.owner: Actor = self.world.owner(
            "Ada",
            volume=case.stated,
            kit=case.kit,
            running=False,
            person={"zone": "UTC"},
            **tub,
        )
        self._read = 0

    def close(self) -> None:
        self.world.close()

    def until(self, at: float) -> None:
        """Let time pass up to a moment; what falls due on the way happens at its own time."""
        left = NOON + timedelta(hours=at) - self.world.clock.now()
        if left > timedelta():
            self.world.passes(seconds=left.total_seconds())

    @property
    def messages(self) -> list[Message]:
        """Everything on the phone."""
        return self.owner.messages

    def unread(self) -> list[Message]:
        """What came since this was last asked."""
        found = self.messages[self._read :]
        self._read = len(self.messages)
        return found

    @property
    def question(self) -> Message | None:
        """What waits for an answer: the newest question, if nothing but what came by itself is newer."""
        for message in reversed(self.messages):
            if message.asks:
                return message
            if message.lane == "reply":
                return None
        return None

    @staticmethod
    def day_of(key: str, message: Message, at: float) -> float | None:
        """When the day begins that a message names in a sentence of that key; None where it has no such sentence."""
        today = (NOON + timedelta(hours=at)).date()
        for ahead in range(DAYS_AHEAD):
            day = today + timedelta(days=ahead)
            if Words("en").text(line(key, day=day)) in message.text:
                return (datetime.combine(day, time(), UTC) - NOON).total_seconds() / 3600.0
        return None

    def offered(self, command: str) -> Button | None:
        """The button of a command under the newest message, if it is there."""
        buttons = (button for row in self.messages[-1].buttons for button in row)
        return next((button for button in buttons if decode(button.data) == CommandButton(command)), None)

    def unprompted(self, since: int) -> int:
        """How many of the messages from that number on nobody asked for."""
        return sum(message.lane in ASKED for message in self.messages[since:])


def reminders(message: Message) -> dict[str, Button]:
    """The buttons of a reminder that say that it is done, by what it is of, and that of today's dose."""
    found: dict[str, Button] = {}
    for row in message.buttons:
        for button in row:
            pressed = decode(button.data)
            if isinstance(pressed, ReminderButton) and pressed.answer == "done":
                found[pressed.what] = button
            elif pressed == CommandButton("dose") and message.lane == "reminder":
                found["dose"] = button
    return found


def later(done: Button) -> Button:
    """The button beside one that says that it is done, which puts it off."""
    pressed = decode(done.data)
    assert isinstance(pressed, ReminderButton)
    return done.model_copy(update={"data": encode(replace(pressed, answer="later"))})

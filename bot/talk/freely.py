"""Free text that is no red flag, no command and no answer: readings, what was done, requests, symptoms, or anything."""

from bot.talk import stack
from bot.talk.draft import Draft
from bot.talk.flows.weekly_test import READINGS
from bot.talk.overview import care_menu
from bot.talk.turn import Turn
from bot.talk.understand import readings
from bot.talk.words import line


def understand_freely(draft: Draft, text: str, turn: Turn | None) -> None:
    """Answer a text that was nothing else. Never silent."""
    heard = readings(text, sanitizer=draft.tub.sanitizer if draft.tub else None)
    if heard.values and draft.tub:
        stack.begin(draft, "weekly_test", {"readings": READINGS.dump_python(heard.values, mode="json")})
        return
    if turn:
        stack.resume(draft, (line("talk.not_understood"),))
    else:
        draft.say(line("freely.unknown"), care_menu(draft))

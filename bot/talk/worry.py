"""A text that may tell of a danger, though no rule knows its wording: one question decides, before anything else."""

from collections.abc import Callable
from typing import Literal

from bot.model.event import Wrote
from bot.schedule.journal import in_danger
from bot.talk import stack
from bot.talk.alarm import offer_alarm, sound_alarm
from bot.talk.danger import answer_flags
from bot.talk.draft import Draft
from bot.talk.guides import NEAR_DANGER
from bot.talk.turn import Turn
from bot.talk.understand import (
    WATER_NOT_FIT,
    Flag,
    agree,
    command,
    courtesy,
    events,
    flags,
    questions,
    readings,
    requests,
    suspicion,
    symptoms,
)
from bot.talk.understand.suspicion import GRAVER, KINDS, SURE, kind_of, said_in_jest, sounds_grave

WORRY = "worry"
CHOICES: dict[str, dict[str, int]] = {
    "people": {"yes": 5},
    "doctor": {"condition": 17},
    "tub": {"suction_cover": 3, "over_40": 4, "dry": 18, "frozen": 18, "cover_lock": 16},
    "water": {"no_sanitizer": 11, "cannot_see_floor": 12, "sanitizer_high": 13, "soiled": 14, "slime": 15},
}
"""What is asked, by what the text seems to be about: each answer that is a red flag, and its number."""
PEOPLE = 5
_ABOUT = {PEOPLE: "people", 17: "doctor", 3: "tub", 11: "water"}
"""The same by what the net answers."""


def ask_whether(draft: Draft, wrote: Wrote, fits: Callable[[], bool]) -> bool:
    """Ask whether there is danger, where a text sounds like it; False where it does not, or people know already.

    `fits` tells whether it answers what is open, or reaches a person anyway.
    """
    if not _may_ask(draft):
        return False
    found = flags(wrote.text)
    number = KINDS[kind_of(found[0].number)] if found else suspicion(wrote.text)
    if number is None:
        return False
    if not found and _left_to_its_talk(wrote.text):
        return False
    if not found and suspicion(wrote.text, SURE) is None and (fits() or _says_something(draft, wrote.text)):
        return False
    fresh = not (wrote.forwarded or wrote.edited)
    stack.begin(draft, WORRY, {"about": _ABOUT[number], "text": wrote.text[:4096], "fresh": fresh})
    return True


def _left_to_its_talk(text: str) -> bool:
    """Whether a text is about something with a talk of its own, which asks for what is grave itself, and first: always
    but for a symptom that would not begin with people or fire, where the text sounds like them.
    """
    if requests(text) or questions(text):
        return True
    found = symptoms(text)
    return bool(found) and (not NEAR_DANGER.isdisjoint(found) or suspicion(text, GRAVER) != PEOPLE)


def is_doubtful(draft: Draft, text: str) -> bool:
    """Whether what is a red flag by its words is asked about first, because the whole text sounds harmless."""
    return _may_ask(draft) and said_in_jest(text)


def leave_a_tap(draft: Draft, text: str) -> None:
    """Put the one tap for danger under the answer to a text that sounds grave, whatever it was taken for."""
    plain = command(text) or agree(text) is not None or courtesy(text)
    if _may_ask(draft) and not plain and sounds_grave(text):
        offer_alarm(draft)


def _may_ask(draft: Draft) -> bool:
    return draft.person is not None and draft.person.role == "owner" and not in_danger(draft.journal)


def _says_something(draft: Draft, text: str) -> bool:
    """Whether a text is a command, a courtesy, a reading or something done."""
    heard = readings(text)
    return bool(
        command(text)
        or agree(text) is not None
        or courtesy(text)
        or heard.values
        or heard.doubts
        or events(text, draft.now.astimezone(draft.words.zone))
    )


def answer(draft: Draft, turn: Turn, chosen: str) -> str | None:
    """Take the answer to that question. Returns the text that is still to be answered, where there is no danger."""
    args = turn.open.args
    text = str(args["text"])
    stack.drop_top(draft)
    if chosen == "no":
        return text if args["fresh"] else ""
    if chosen == "yes":
        sound_alarm(draft, text=text)
        return None
    number = CHOICES[str(args["about"])][chosen]
    klass: Literal["danger", "water"] = "water" if number in WATER_NOT_FIT else "danger"
    answer_flags(draft, text, [Flag(number, chosen, klass, "", "self", past=False)])
    return None

"""From what people type to what they mean: pure functions over text, in English, Spanish, French, German and mixtures.

None of them raises on any text; each reads at most the first 4,096 characters.
"""

from bot.talk.understand.answers import number
from bot.talk.understand.calendar_words import day
from bot.talk.understand.clock_words import clock
from bot.talk.understand.courtesy import Courtesy, courtesy
from bot.talk.understand.durations import duration
from bot.talk.understand.events import EventHeard, EventKind, Role, doses, events
from bot.talk.understand.flags import WATER_NOT_FIT, Flag, flags
from bot.talk.understand.language import language
from bot.talk.understand.meaning import OFF_THE_BOTTOM, OFF_THE_TOP, Doubt, DoubtCode, Heard
from bot.talk.understand.measures import count, temperature, unit_system, volume
from bot.talk.understand.normalise import MAX_CHARS, normalise
from bot.talk.understand.readings import readings
from bot.talk.understand.replies import COMMANDS, CommandName, agree, command, later, option, unsure
from bot.talk.understand.suspicion import suspicion
from bot.talk.understand.topics import (
    QUESTIONS,
    REQUESTS,
    SYMPTOMS,
    Question,
    Request,
    Symptom,
    questions,
    requests,
    symptoms,
)

__all__ = [
    "COMMANDS",
    "MAX_CHARS",
    "OFF_THE_BOTTOM",
    "OFF_THE_TOP",
    "QUESTIONS",
    "REQUESTS",
    "SYMPTOMS",
    "WATER_NOT_FIT",
    "CommandName",
    "Courtesy",
    "Doubt",
    "DoubtCode",
    "EventHeard",
    "EventKind",
    "Flag",
    "Heard",
    "Question",
    "Request",
    "Role",
    "Symptom",
    "agree",
    "clock",
    "command",
    "count",
    "courtesy",
    "day",
    "doses",
    "duration",
    "events",
    "flags",
    "language",
    "later",
    "normalise",
    "number",
    "option",
    "questions",
    "readings",
    "requests",
    "suspicion",
    "symptoms",
    "temperature",
    "unit_system",
    "unsure",
    "volume",
]

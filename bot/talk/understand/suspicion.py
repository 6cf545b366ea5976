"""The net under the rules: how much a text sounds like a danger, by words and pieces of words from labelled sentences.

A softmax over a few kinds of worry, its weights in whole numbers in `words/suspicion.bin`, as trained by
`python -m tests.talk.understand.train`. It never raises a flag: it says only what is to be asked.
"""

from array import array
from functools import cache
from importlib.resources import files
from math import exp

from bot.talk.understand.flags import WATER_NOT_FIT, Flag, flags
from bot.talk.understand.language import language
from bot.talk.understand.readings import readings
from bot.talk.understand.scan import scan
from bot.talk.understand.tokens import tokens
from bot.talk.understand.traits import windows

PLACES = 1 << 17
"""Rows of the table: traits are put into them by their checksum."""
KINDS = (0, 5, 17, 3, 11)
"""What a text may be about, a red flag for each: nothing, people or fire, a doctor's question, the tub, the water."""
TRAINED_IN = frozenset({"de", "en", "es", "fr"})
SCALE = 16.0
"""Whole numbers of the table for one unit of log-odds."""
SUSPECT, GRAVER, SURE = 0.6, 0.75, 0.9
"""The chance from which it is asked: of a text that says nothing else to us; of people or fire in a text about a
symptom (on sentences kept back that is every second danger there, and one in a hundred harmless ones); and of one that
says something else.
"""
WORTH_A_TAP = 0.3
"""The chance from which the answer carries the one tap for danger."""
HARMLESS = 0.4
"""The chance below which a red flag of words alone is asked about first: a saying, a bill, a storm of yesterday."""
IN_SAYINGS = frozenset({1, 2, 5, 7, 8, 14, 18, 19})
"""Red flags whose words are in many a saying (a bill that gives a stroke, a lightning-fast answer)."""
_CHEMICALS = frozenset({"chem_acid", "chem_chlorine", "tablet"})
_FEWEST_WORDS = 4
"""A shorter text is a cry, or too little to be judged."""


def suspicion(text: str, bar: float = SUSPECT) -> int | None:
    """The red flag that stands for what a text may tell of; None where it sounds harmless, or holds no word."""
    if not any(token.kind == "word" and len(token.text) > 2 for token in tokens(text)):
        return None
    best = max(chances(text), key=lambda chance: 1 - chance[0])
    if 1 - best[0] < bar:
        return None
    return KINDS[max(range(1, len(KINDS)), key=lambda kind: best[kind])]


def sounds_grave(text: str, bar: float = WORTH_A_TAP) -> bool:
    """Whether a text sounds like a danger at least a little."""
    return suspicion(text, bar) is not None


def said_in_jest(text: str) -> bool:
    """Whether a text has red flags by its words only, and as a whole sounds harmless. A chemical swallowed or broken
    glass never is.
    """
    found = flags(text)
    return (
        bool(found)
        and all(flag.number in IN_SAYINGS and not _is_meant(flag, text) for flag in found)
        and not readings(text).values
        and sounds_harmless(text)
    )


def _is_meant(flag: Flag, text: str) -> bool:
    return flag.kind == "glass" or (flag.kind == "swallowed" and not _CHEMICALS.isdisjoint(scan(text).found))


def sounds_harmless(text: str) -> bool:
    """Whether a text of some length, in a language that the net was trained in, sounds like no danger."""
    words = [token for token in tokens(text) if token.kind == "word"]
    if len(words) < _FEWEST_WORDS or language(text) not in TRAINED_IN:
        return False
    return not sounds_grave(text, HARMLESS)


def kind_of(number: int) -> int:
    """The place in `KINDS` of a red flag's number, 0 for harmless."""
    if number == 0:
        return 0
    if number == 17:
        return 2
    return 3 if number in {3, 4, 16, 18} else 4 if number in WATER_NOT_FIT else 1


def chances(text: str) -> list[list[float]]:
    """The chance of each of `KINDS` for each stretch of a text."""
    weights, width = table(), len(KINDS)
    found = []
    for places in windows(text, PLACES):
        sums = [sum(weights[place * width + kind] for place in places) / SCALE for kind in range(width)]
        size = max(len(places), 1) ** 0.5
        found.append(_shares([weights[PLACES * width + kind] / SCALE + sums[kind] / size for kind in range(width)]))
    return found


def _shares(scores: list[float]) -> list[float]:
    most = max(scores)
    parts = [exp(score - most) for score in scores]
    return [part / sum(parts) for part in parts]


@cache
def table() -> "array[int]":
    """The weights, a row of `KINDS` for each place and one more for what holds without any trait."""
    weights = array("b")
    weights.frombytes((files("bot.talk.understand") / "words" / "suspicion.bin").read_bytes())
    return weights

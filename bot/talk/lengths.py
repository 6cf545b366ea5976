"""Lengths as people write them: `2.10 m`, `210`, `84 in`, `7 ft 2`, `7'2"`."""

from functools import cache

from bot.model.person import Units
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.numerals import numbers
from bot.talk.understand.tokens import tokens
from bot.talk.understand.words import table

CENTIMETRES = {"metre": 100.0, "centimetre": 1.0, "foot": 30.48, "inch": 2.54}
_MARKS = {"'": "foot", '"': "inch", "″": "inch", "′": "foot"}
LARGEST = 1000.0
"""Centimetres; no tub is longer. Common practice."""


@cache
def _units() -> Lexicon:
    words = table("times")["volume"]
    return Lexicon({label: words[label] for label in CENTIMETRES})


def length(text: str, units: Units = "metric") -> float | None:
    """Centimetres that a text says: several lengths add up (`7 ft 2 in`). None where there is none, or none of a tub's.

    A bare number is metres below 15 and centimetres above for `metric`, feet below 15 and inches above for `us`.
    """
    words = tokens(text)
    named: dict[int, str] = {hit.start: hit.label for hit in sorted(_units().hits(words), key=_length_of)}
    named |= {place: _MARKS[word.text] for place, word in enumerate(words) if word.text in _MARKS}
    total = 0.0
    last = ""
    for number in numbers(words):
        unit = named.get(number.end) or ("inch" if last == "foot" else _usual(number.value, units))
        total += number.value * CENTIMETRES[unit]
        last = unit
    return total if 0 < total <= LARGEST else None


def _length_of(hit: Hit) -> int:
    return hit.end - hit.start


def _usual(value: float, units: Units) -> str:
    if units == "us":
        return "foot" if value < 15 else "inch"
    return "metre" if value < 15 else "centimetre"

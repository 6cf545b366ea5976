"""The answer to a question for one number."""

from functools import cache

from bot.talk.understand.lexicon import Lexicon
from bot.talk.understand.meaning import OFF_THE_BOTTOM, OFF_THE_TOP, Doubt
from bot.talk.understand.mentions import names
from bot.talk.understand.quantities import quantities
from bot.talk.understand.quantity import as_reading
from bot.talk.understand.readings import readings
from bot.talk.understand.soaks import gathering
from bot.talk.understand.tokens import tokens
from bot.talk.understand.words import table
from dosing import Said


@cache
def _beyond() -> Lexicon:
    around = table("readings")["around"]
    return Lexicon({label: around[label] for label in ("off_top", "off_bottom", "colour", "unsure")})


SHORT = 4
"""In a longer text that names no reading, a number word such as "one" is no number that was read."""


def number(text: str, key: str) -> Said | Doubt | None:
    """The reading `key` in an answer to the question for it; None where the answer holds no number at all.

    The name may be left out. A named reading other than `key` is not taken for it, nor how many bathed.
    """
    named = readings(text, sanitizer="bromine" if key == "br" else "chlorine")
    if key in named.values:
        return named.values[key]
    words = tokens(text)
    others = {hit.label for hit in names(words)} - {key, "total", "sanitizer"}
    if doubt := next((d for d in named.doubts if d.key == key), None):
        return doubt
    if (others and not others <= _kin(key)) or gathering(words):
        return None
    told = bool(names(words)) or len(words) <= SHORT
    usable = [q for q in quantities(words) if q.other_unit is None and not q.aimed and (told or not q.shy)]
    if len(usable) > 1:
        return Doubt("two_values", key, text.strip()[:80], tuple(q.lows[0] for q in usable))
    if usable:
        return as_reading(usable[0], key)
    return _without_number(text, key)


def _without_number(text: str, key: str) -> Said | Doubt | None:
    labels = {hit.label for hit in _beyond().longest(tokens(text))}
    if "off_top" in labels:
        return OFF_THE_TOP
    if "off_bottom" in labels:
        return OFF_THE_BOTTOM
    return Doubt("colour", key, text.strip()[:80]) if "colour" in labels else None


def _kin(key: str) -> frozenset[str]:
    """Readings whose plain name ("hardness", "chlorine") is used for `key` too when asked for it."""
    return {
        "th": frozenset({"ch"}),
        "ch": frozenset({"th"}),
        "br": frozenset({"fc"}),
        "tc": frozenset({"fc"}),
        "cc": frozenset({"fc"}),
    }.get(key, frozenset())

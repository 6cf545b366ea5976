"""Times of day: `22:00`, `10 pm`, `half past nine`, `halb zehn`, `las diez y media`, `22h30`."""

import re
from collections.abc import Sequence
from datetime import time
from functools import cache

from bot.talk.understand.lexicon import Lexicon
from bot.talk.understand.mentions import names_a_reading
from bot.talk.understand.normalise import bare, normalise
from bot.talk.understand.numerals import numbers
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.words import table

_DIGITS = re.compile(r"(?<![\d.,:])([01]?\d|2[0-4])\s?[:h.]\s?([0-5]\d)(?![\d.,])")
_COMPACT = re.compile(r"(?<![\d.,])([01]\d|2[0-3])([0-5]\d)(?![\d.,])")
_LABELS = (
    "noon", "midnight", "am", "pm", "oclock", "half_past", "quarter_past", "quarter_to", "german_half", "and_half",
    "and_quarter", "less_quarter",
)  # fmt: skip


@cache
def _phrases() -> Lexicon:
    phrases = table("times")["phrases"]
    return Lexicon({label: phrases[label] for label in _LABELS})


def clock(text: str) -> time | None:
    """The first time of day in a text; None where there is none. An hour without am or pm is on the 24-hour clock."""
    plain = bare(normalise(text))
    words = tokens(text)
    labels = {hit.label for hit in _phrases().hits(words)}
    if match := _DIGITS.search(plain):
        return _time(int(match[1]), int(match[2]), labels)
    if "noon" in labels:
        return time(12)
    if "midnight" in labels:
        return time(0)
    if (match := _COMPACT.fullmatch(plain.strip())) is not None:
        return time(int(match[1]), int(match[2]))
    return None if names_a_reading(words) else _spoken(words, labels)


def clock_beside(words: Sequence[Token]) -> time | None:
    """A time of day within a longer text: only `22:30`, or a number with am, pm, uhr or the like right after it."""
    hits = _phrases().hits(words)
    for number in numbers(words):
        if number.value != int(number.value) or not 0 <= number.value <= 24:
            continue
        after = words[number.end : number.end + 2]
        if [t.text for t in after[:1]] == [":"] and len(after) == 2 and after[1].text.isdigit() and after[1].glued:
            minute = int(after[1].text[:2])
            return _time(int(number.value), minute, {h.label for h in hits}) if minute < 60 else None
        labels = {h.label for h in hits if h.start == number.end}
        if labels & {"am", "pm"} or ("oclock" in labels and words[number.end].text == "uhr"):
            return _time(int(number.value), 0, labels)
    return None


def _spoken(words: Sequence[Token], labels: set[str]) -> time | None:
    joined = next((n for n in numbers(words) if n.in_words and 100 <= n.value <= 2359 and n.value % 100 < 60), None)
    if joined:
        return _time(int(joined.value // 100), int(joined.value % 100), labels)
    hours = [n for n in numbers(words) if n.value == int(n.value) or n.value % 1 == 0.5]
    hour = next((n for n in hours if 0 <= n.value <= 24 and (labels or (len(hours) <= 2 and len(words) <= 4))), None)
    if hour is None:
        return None
    minutes = 60 * hour.value
    after = next((n for n in numbers(words) if n.start == hour.end and 10 <= n.value < 60), None)
    if after and hour.value % 1 == 0:
        return _time(int(hour.value), int(after.value), labels)
    if "german_half" in labels:
        minutes -= 30
    elif labels & {"and_half", "half_past"} and hour.value % 1 == 0:
        minutes += 30
    elif labels & {"and_quarter", "quarter_past"}:
        minutes += 15
    elif labels & {"less_quarter", "quarter_to"}:
        minutes -= 15
    return _time(int(minutes // 60) % 24, int(minutes % 60), labels)


def _time(hour: int, minute: int, labels: set[str]) -> time | None:
    if "pm" in labels and 1 <= hour < 12:
        hour += 12
    if "am" in labels and "pm" not in labels and hour == 12:
        hour = 0
    return time(hour % 24, minute) if hour <= 24 else None

"""Lengths of time: `20 min`, `half an hour`, `three days ago`."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.mentions import names_a_reading
from bot.talk.understand.numerals import numbers
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.words import table

_MINUTES = {
    "second": 1 / 60,
    "minute": 1.0,
    "hour": 60.0,
    "day": 1440.0,
    "week": 10080.0,
    "month": 43200.0,
    "year": 525600.0,
}
_FIXED = {"half_hour": 30.0, "quarter_hour": 15.0, "three_quarters": 45.0, "hour_and_half": 90.0}
_VAGUE = {"a_few": 3.0, "a_couple": 2.0}
_LONGEST = 100 * 525600.0


@dataclass(frozen=True, slots=True)
class Span:
    """A length of time at tokens `start` to `end`; `direction` is -1 for "ago", 1 for "in", 0 for neither."""

    start: int
    end: int
    minutes: float
    direction: int


@cache
def _units() -> Lexicon:
    return Lexicon(table("times")["units"], ("second", "seconde", "segundo", "days", "hourly", "minor", "dies"))


@cache
def _phrases() -> Lexicon:
    phrases = table("times")["phrases"]
    return Lexicon({label: phrases[label] for label in (*_FIXED, *_VAGUE, "ago", "ago_before", "ahead_before")})


def duration(text: str) -> float | None:
    """Minutes that a text speaks of, the lengths in it added up (`1 h 30 min`); a bare number is minutes.

    None where there is none, or none that fits a life (a hundred years).
    """
    words = tokens(text)
    found = spans(words)
    total = sum(span.minutes for span in found)
    if not found:
        bare_numbers = numbers(words)
        if len(bare_numbers) != 1 or len(words) > 4 or bare_numbers[0].value < 0 or names_a_reading(words):
            return None
        total = bare_numbers[0].value
    return total if 0 <= total <= _LONGEST else None


def spans(words: Sequence[Token]) -> list[Span]:
    """All lengths of time in a text, from the left."""
    return list(_spans(tuple(words)))


@lru_cache(maxsize=32)
def _spans(words: tuple[Token, ...]) -> tuple[Span, ...]:
    phrases = _phrases().hits(words)
    units = {h.start: h for h in sorted(_units().hits(words), key=lambda h: h.end)}
    found = [_directed(Span(h.start, h.end, _FIXED[h.label], 0), phrases) for h in phrases if h.label in _FIXED]
    found = [s for s in found if not any(o != s and o.start <= s.start and s.end <= o.end for o in found)]
    taken = {i for s in found for i in range(s.start, s.end)}
    amounts = [(n.start, n.end, max(n.value, 0.0)) for n in numbers(words)]
    amounts += [(h.start, h.end, _VAGUE[h.label]) for h in phrases if h.label in _VAGUE]
    amounts += [(i, i + 1, 1.0) for i, t in enumerate(words) if t.text in {"a", "an", "einer", "einem"}]
    seen: set[int] = set()
    for start, end, amount in sorted(amounts, key=lambda a: (a[0], -a[1])):
        unit = units.get(end + 1 if end < len(words) and words[end].text in {"of", "more", "or", "de", "-"} else end)
        if unit is None or unit.start in taken or unit.start in seen or amount * _MINUTES[unit.label] > _LONGEST:
            continue
        if unit.end - unit.start == 1 and len(words[unit.start].text) == 1 and not _clear_letter(words, unit):
            continue
        seen.add(unit.start)
        after_hours = _minutes_after(words, unit)
        minutes = amount * _MINUTES[unit.label] + after_hours
        found.append(_directed(Span(start, unit.end + (after_hours > 0), minutes, 0), phrases))
    return tuple(sorted(found, key=lambda s: s.start))


def _minutes_after(words: Sequence[Token], unit: Hit) -> float:
    """`1h30`."""
    if (
        unit.label != "hour"
        or unit.end >= len(words)
        or not words[unit.end].glued
        or not words[unit.end].text.isdigit()
    ):
        return 0.0
    return float(words[unit.end].text) if len(words[unit.end].text) == 2 else 0.0


def _clear_letter(words: Sequence[Token], unit: Hit) -> bool:
    """`20m` and `3 d` are times only when glued (`m`, `s`, `w` are much else); `h` and `d` always."""
    return words[unit.start].text in {"h", "d"} or words[unit.start].glued


def _directed(span: Span, phrases: Sequence[Hit]) -> Span:
    if any(h.label == "ago" and h.start == span.end for h in phrases):
        return Span(span.start, span.end + 1, span.minutes, -1)
    before = [h for h in phrases if h.end == span.start and h.label in {"ago_before", "ahead_before"}]
    if not before:
        return span
    direction = -1 if any(h.label == "ago_before" for h in before) else 1
    return Span(min(h.start for h in before), span.end, span.minutes, direction)

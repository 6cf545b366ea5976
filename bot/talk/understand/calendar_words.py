"""Days: `tomorrow`, `in three days`, `friday`, `3.4.`, `2027-04-03`."""

import re
from collections.abc import Sequence
from dataclasses import replace
from datetime import date, timedelta
from functools import cache

from bot.talk.understand.durations import Span, spans
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.normalise import bare, normalise
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.words import table

_ISO = re.compile(r"(?<!\d)(\d{4})[-/.](\d{1,2})[-/.](\d{1,2})(?!\d)")
_DOTTED = re.compile(r"(?<![\d.,])(\d{1,2})\.\s?(\d{1,2})\.(?:\s?(\d{4}|\d{2}))?(?!\d)")
_SLASHED = re.compile(r"(?<![\d/])(\d{1,2})[/-](\d{1,2})(?:[/-](\d{4}|\d{2}))?(?![\d/])")
_MAX_DAYS = 3660


@cache
def _lexicon() -> Lexicon:
    words = table("times")
    labels = {f"day:{offset}:{phrase}": [phrase] for phrase, offset in words["days"].items()}
    labels |= {f"weekday:{i}": names for i, names in enumerate(words["weekdays"]["names"])}
    labels |= {f"month:{i + 1}": names for i, names in enumerate(words["months"]["names"])}
    labels |= {name: words["phrases"][name] for name in ("last", "next")}
    return Lexicon(
        labels,
        (
            "money",
            "monde",
            "mono",
            "month",
            "sunny",
            "sunk",
            "morning",
            "friend",
            "hire",
            "them",
            "maybe",
            "sales",
            "second",
            "market",
            "satin",
            "mart",
            "march",
        ),
    )


def day(text: str, today: date) -> date | None:
    """The day a text names, seen from `today`; a weekday or a date without a year is the next one to come.

    `3.4.` is the third of April, `2027-04-03` ISO; `3/4` could be two days and is None, `13/4` could not.
    """
    return day_in(tokens(text), today, plain=bare(normalise(text)))


def day_in(words: Sequence[Token], today: date, *, plain: str, past: bool = False) -> date | None:
    """As `day`; with `past`, weekdays and dates without a year are the last that were."""
    if found := _numeric(plain, today, past=past):
        return found
    hits = _lexicon().longest(words)
    named = next((h for h in hits if h.label.startswith("month:") and _day_number(words, h)), None)
    if named:
        return _dated(today, int(named.label.split(":")[1]), _day_number(words, named) or 0, None, past=past)
    for span in spans(words):
        bare_answer = span.direction == 0 and not past and len(words) == span.end - span.start
        meant = replace(span, direction=1) if bare_answer else span
        if (offset := _offset(meant, past=past)) is not None:
            return _shifted(today, offset)
    for hit in hits:
        if hit.label.startswith("day:"):
            return _shifted(today, int(hit.label.split(":")[1]))
    weekday = next((h for h in hits if h.label.startswith("weekday:")), None)
    return _weekday(today, weekday, hits, past=past) if weekday else None


def month_in(words: Sequence[Token], today: date) -> tuple[Hit, date] | None:
    """The middle of the last month of a name that stands without a day (`since may`, `in october 2026`), and where it
    stands; None for the month that it is now.
    """
    for hit in _lexicon().longest(words):
        if not hit.label.startswith("month:") or _day_number(words, hit) or not _means_a_month(words, hit):
            continue
        month = int(hit.label.split(":")[1])
        year = next((t.text for t in words[hit.end : hit.end + 1] if re.fullmatch(r"20\d\d", t.text)), None)
        if month != today.month or year:
            found = date(int(year) if year else today.year - (month > today.month), month, 15)
            return (Hit(hit.label, hit.start, hit.end + bool(year)), found) if found <= today else None
    return None


def _means_a_month(words: Sequence[Token], hit: Hit) -> bool:
    """`may` and `mars` are months after a word like `since` only; of abbreviations nothing is made."""
    name = words[hit.start].text
    if name in table("times")["months"]["other_words"]:
        return any(h.end == hit.start for h in _before_month().hits(words, forgiving=False))
    return len(name) > 3 and name != "sept"


@cache
def _before_month() -> Lexicon:
    return Lexicon({"before": table("times")["months"]["before"]})


def _offset(span: Span, *, past: bool) -> int | None:
    if span.direction == 0 or span.minutes < 12 * 60:
        return None
    if past and span.direction > 0:
        return None
    return span.direction * round(span.minutes / 1440)


def _shifted(today: date, days: int) -> date | None:
    return today + timedelta(days=days) if abs(days) <= _MAX_DAYS else None


def _weekday(today: date, weekday: Hit, hits: Sequence[Hit], *, past: bool) -> date:
    labels = {h.label for h in hits if abs(h.start - weekday.start) <= 2}
    ahead = (int(weekday.label.split(":")[1]) - today.weekday()) % 7
    if "last" in labels or (past and "next" not in labels):
        back = (-ahead) % 7
        return today - timedelta(days=back or (7 if "last" in labels else 0))
    return today + timedelta(days=ahead or 7)


def _day_number(words: Sequence[Token], month: Hit) -> int | None:
    """The day beside a month's name: `3 april`, `april 3rd`, `3. april`, `el 3 de abril`."""
    before = [
        t
        for t in words[max(0, month.start - 3) : month.start]
        if t.kind == "number" or t.text not in {".", "de", "of", "st", "nd", "rd", "th", "er"}
    ]
    after = words[month.end : month.end + 1]
    for token in (*reversed(before), *after):
        if token.kind == "number" and token.text.isdigit() and 1 <= int(token.text[:4]) <= 31:
            return int(token.text)
    return None


def _numeric(plain: str, today: date, *, past: bool) -> date | None:
    if iso := _ISO.search(plain):
        return _exact(int(iso[1]), int(iso[2]), int(iso[3]))
    if dotted := _DOTTED.search(plain):
        return _dated(today, int(dotted[2]), int(dotted[1]), dotted[3], past=past)
    if slashed := _SLASHED.search(plain):
        a, b = int(slashed[1]), int(slashed[2])
        if a > 12 >= b:
            return _dated(today, b, a, slashed[3], past=past)
        if b > 12 >= a:
            return _dated(today, a, b, slashed[3], past=past)
        if a == b and "/" in slashed[0]:
            return _dated(today, a, b, slashed[3], past=past)
    return None


def _dated(today: date, month: int, number: int, year: str | None, *, past: bool) -> date | None:
    if year:
        return _exact(int(year) + (2000 if len(year) == 2 else 0), month, number)
    found = _exact(today.year, month, number)
    if found is None:
        return None
    if past and found > today:
        return _exact(today.year - 1, month, number)
    if not past and found < today:
        return _exact(today.year + 1, month, number)
    return found


def _exact(year: int, month: int, number: int) -> date | None:
    try:
        return date(year, month, number)
    except ValueError:
        return None

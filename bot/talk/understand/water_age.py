"""How old the water is said to be: `the water is three months old`, `water since may`, `filled 2 weeks ago`."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache

from bot.talk.understand.calendar_words import month_in
from bot.talk.understand.durations import spans
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.tokens import Token
from bot.talk.understand.words import table

LEAST_DAYS = 2
MOST_DAYS = 730
"""Older water than that was counted in something else (common practice)."""
_REACH = 9
"""Words between what is spoken of and how long ago that was."""


@dataclass(frozen=True, slots=True)
class WaterAge:
    """Since when the water is in, said at tokens `start` to `end`."""

    start: int
    end: int
    since: date


@dataclass(frozen=True, slots=True)
class _Past:
    start: int
    end: int
    day: date
    ago: bool


@cache
def _words() -> Lexicon:
    return Lexicon(table("events")["water_age"])


def water_age(words: Sequence[Token], today: date) -> WaterAge | None:
    """Since when one sentence says that the water is in; None where it is the age of something else.

    Between the water and the time stands nothing but words of being and of not having been changed, so that water which
    was cloudy for three days is not three days old.
    """
    hits = _words().hits(words, forgiving=False)
    denied = {h.end for h in hits if h.label == "without"}
    for past in _pasts(words, today):
        for head in (h for h in hits if h.label in ("water", "filled") and h.start not in denied):
            if _belongs(words, hits, head, past):
                return WaterAge(min(head.start, past.start), max(head.end, past.end), past.day)
    return None


def _pasts(words: Sequence[Token], today: date) -> Iterator[_Past]:
    for span in spans(words):
        days = round(span.minutes / 1440)
        if span.direction <= 0 and LEAST_DAYS <= days <= MOST_DAYS:
            yield _Past(span.start, span.end, today - timedelta(days=days), span.direction < 0)
    if month := month_in(words, today):
        yield _Past(month[0].start, month[0].end, month[1], ago=True)


def _belongs(words: Sequence[Token], hits: Sequence[Hit], head: Hit, past: _Past) -> bool:
    if head.label == "water" and any(h.label == "old" and h.start == past.end for h in hits):
        after = next(h.end for h in hits if h.label == "old" and h.start == past.end)
        if head.start == after:
            return True
        if head.end <= past.start and _only(words, hits, head.end, past.start):
            return True
    if not (head.end <= past.start and _only(words, hits, head.end, past.start) and _ends(words, hits, past.end)):
        return False
    if head.label == "filled":
        return past.ago
    between = {h.label for h in hits if head.end <= h.start and h.end <= past.start}
    same = any(h.label == "same" and h.end == head.start for h in hits)
    return "since" in between or (same and "lasting" in between)


def _ends(words: Sequence[Token], hits: Sequence[Hit], at: int) -> bool:
    """Whether the telling is at its end: no word follows of how the water was all that time (`seit 3 Tagen trüb`)."""
    known = ("old", "being", "unchanged", "joins")
    return at >= len(words) or words[at].kind == "mark" or any(h.label in known and h.start == at for h in hits)


def _only(words: Sequence[Token], hits: Sequence[Hit], start: int, end: int) -> bool:
    """Whether nothing but words of being, since and change stands there."""
    known = {
        place
        for hit in hits
        if hit.label in ("being", "since", "lasting", "unchanged")
        for place in range(hit.start, hit.end)
    }
    return end - start <= _REACH and all(place in known or words[place].text == "-" for place in range(start, end))

"""Red flags: what an owner may write that needs a person, or forbids bathing, at once."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Literal

from bot.talk.understand.durations import spans
from bot.talk.understand.flag_numbers import by_numbers, sanitizer_is_read
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.rules import matches, rules
from bot.talk.understand.scan import Scan, scan
from bot.talk.understand.words import table

About = Literal["self", "child", "other", "pet"]
WATER_NOT_FIT = frozenset(range(11, 16))
"""Flag numbers that forbid bathing but let the corrective plan go on; all others are danger."""
_LONG_AGO_MINUTES = 30 * 1440.0


@dataclass(frozen=True, slots=True)
class Flag:
    """One red flag: its number (1 to 20), a short name of what was said, and who it is about.

    `past` is true for what is told of long ago (a month or more); the caller decides what that is worth.
    """

    number: int
    kind: str
    klass: Literal["danger", "water"]
    evidence: str
    about: About
    past: bool


@cache
def _time_words() -> Lexicon:
    return Lexicon({"past": table("danger_context")["long_ago"]})


@lru_cache(maxsize=64)
def flags(text: str) -> tuple[Flag, ...]:
    """All red flags in a text, gravest first; what is negated does not count. At most one per number and kind."""
    scanned = scan(text)
    past = _told_as_past(scanned)
    best: dict[tuple[int, str], Flag] = {}
    for number, kind, hits in _found(text, scanned):
        known = best.get((number, kind))
        long_ago = any(scanned.tokens[h.start].sentence in past for h in hits)
        if known and (long_ago or not known.past):
            continue
        best[number, kind] = Flag(
            number, kind, "water" if number in WATER_NOT_FIT else "danger",
            " … ".join(scanned.words(h) for h in sorted(hits, key=lambda h: h.start)),
            _about(scanned, hits, water=number in WATER_NOT_FIT), long_ago,
        )  # fmt: skip
    order: list[int] = table("rules")["order"]
    return tuple(sorted(best.values(), key=lambda f: (f.past, order.index(f.number))))


def _found(text: str, scanned: Scan) -> Iterator[tuple[int, str, tuple[Hit, ...]]]:
    for rule in rules("flag"):
        for hits in matches(scanned, rule):
            if rule.name == "no_sanitizer" and sanitizer_is_read(text):
                break
            yield rule.number, rule.name, hits
    yield from by_numbers(text, scanned)


def _about(scanned: Scan, hits: tuple[Hit, ...], *, water: bool) -> About:
    labels = {h.label for h in hits}
    if water:
        return "self"
    if labels & {"child", "infant"}:
        return "child"
    whole = Hit("", min(h.start for h in hits), max(h.end for h in hits))
    for concept, about in (("child", "child"), ("pet", "pet"), ("person", "other")):
        near = scanned.nearest([concept], whole)
        if near and near.start - whole.end <= 8 and whole.start - near.end <= 8 and not _speaker(scanned, near):
            return about  # type: ignore[return-value]
    return "self"


def _speaker(scanned: Scan, hit: Hit) -> bool:
    return scanned.words(hit) in _SPEAKERS


_SPEAKERS = frozenset(["i", "me", "we", "yo", "me", "je", "j", "ich", "wir", "nous", "nosotros", "mir", "mich"])


def _told_as_past(scanned: Scan) -> frozenset[int]:
    """The sentences that tell of long ago; `for two months now` (`desde hace`, `depuis`, `seit`) does not."""
    words = scanned.tokens
    long_ago = {words[h.start].sentence for h in _time_words().hits(words, forgiving=False)}
    for span in spans(words):
        since = span.start > 0 and words[span.start - 1].text in {"desde", "depuis", "seit", "since"}
        if span.direction < 0 and span.minutes >= _LONG_AGO_MINUTES and not since:
            long_ago.add(words[span.start].sentence)
    return frozenset(long_ago)

"""Who bathed and for how long, told without a word for bathing: `we were 3 for 20 min`, `wir waren zu dritt`."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from bot.talk.understand.durations import spans
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.numerals import Number, numbers
from bot.talk.understand.quantities import unit_at
from bot.talk.understand.tokens import Token
from bot.talk.understand.words import table

TOGETHER = {"pair": 2, "trio": 3, "four": 4, "five": 5, "six": 6}
"""How many `zu dritt`, `les quatre` and the like are, by the label of their wordings."""
MOST_BATHERS = 30
_LONGEST_MINUTES = 240.0


@dataclass(frozen=True, slots=True)
class Gathering:
    """That `bathers` people were somewhere, said at tokens `start` to `end`."""

    start: int
    end: int
    bathers: int


@cache
def _words() -> Lexicon:
    people = table("events")["people"]
    phrases = table("times")["phrases"]
    return Lexicon(
        {label: people[label] for label in ("unit", "we_were", "lasting", "just", "beside")}
        | {label: phrases[label] for label in TOGETHER}
    )


def gathering(words: Sequence[Token]) -> Gathering | None:
    """The people told of in one sentence; None in a question, and where the number counts something else."""
    if any(t.text == "?" for t in words):
        return None
    hits = _words().hits(words, forgiving=False)
    counts = [n for n in numbers(words) if n.value == int(n.value) and 0 < n.value <= MOST_BATHERS]
    for were in (h for h in hits if h.label == "we_were"):
        places = {were.end, *(h.end for h in hits if h.label == "just" and h.start == were.end)}
        if told := next((n for n in counts if n.start in places and _counts_people(words, n, hits)), None):
            return Gathering(were.start, told.end, int(told.value))
        if group := next((h for h in hits if h.label in TOGETHER and h.start in places), None):
            return Gathering(were.start, group.end, TOGETHER[group.label])
    return _for_a_while(words, hits, counts)


def _for_a_while(words: Sequence[Token], hits: Sequence[Hit], counts: Sequence[Number]) -> Gathering | None:
    """`à 3 pendant 20 minutes`: a number that opens the sentence, and how long."""
    opening = max((h.end for h in hits if h.label == "just" and h.start == 0), default=0)
    told = next((n for n in counts if n.start == opening and _counts_people(words, n, hits)), None)
    if told is None:
        return None
    unit = max((h.end for h in hits if h.label == "unit" and h.start == told.end), default=told.end)
    lasting = {h.end for h in hits if h.label == "lasting" and h.start == unit}
    stay = next((s for s in spans(words) if s.start in lasting and 1.0 < s.minutes <= _LONGEST_MINUTES), None)
    return Gathering(0, stay.end, int(told.value)) if stay else None


def _counts_people(words: Sequence[Token], number: Number, hits: Sequence[Hit]) -> bool:
    """Whether a number stands for people: nothing that could be counted follows (`we were 3 hours late`)."""
    if number.end >= len(words) or any(h.label in {"unit", "beside"} and h.start == number.end for h in hits):
        return True
    if any(span.start == number.end for span in spans(words)):
        return True
    return words[number.end].kind != "word" and unit_at(words, number.end) is None

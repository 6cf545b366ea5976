"""Amounts of a product: `2 caps`, `half a scoop`, `30 g`, `1 1/2 tablespoons`."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from bot.talk.understand.lexicon import Lexicon
from bot.talk.understand.numerals import numbers
from bot.talk.understand.tokens import Token
from bot.talk.understand.words import table

_GRAMS = {"gram": 1.0, "kilogram": 1000.0, "ounce": 28.349523125, "pound": 453.59237}
"""Grams in a unit of mass, by definition (avoirdupois)."""
_LARGEST = 100_000.0


@dataclass(frozen=True, slots=True)
class Amount:
    """`count` of a `measure` at tokens `start` to `end`; `grams` where the measure is a weight."""

    start: int
    end: int
    count: float
    measure: str
    grams: float | None


@cache
def _measures() -> Lexicon:
    return Lexicon(table("events")["measures"], table("ordinary")["words"])


def amounts(words: Sequence[Token]) -> list[Amount]:
    """All amounts among the tokens, from the left."""
    hits = _measures().hits(words)
    measures = {h.start: h for h in sorted(hits, key=lambda h: h.end) if h.label not in {"half", "one"}}
    counts = [(n.start, n.end, n.value) for n in numbers(words) if len(n.values) == 1 and n.value > 0]
    counts += [(h.start, h.end, 0.5) for h in hits if h.label == "half"]
    counts += [(h.start, h.end, 1.0) for h in hits if h.label == "one"]
    found: list[Amount] = []
    taken: set[int] = set()
    for start, end, count in sorted(counts, key=lambda c: (c[0], -c[1])):
        unit = measures.get(end)
        if unit is None or unit.start in taken or count > _LARGEST:
            continue
        taken.add(unit.start)
        weight = _GRAMS.get(unit.label)
        found.append(Amount(start, unit.end, count, unit.label, round(count * weight, 2) if weight else None))
    return found

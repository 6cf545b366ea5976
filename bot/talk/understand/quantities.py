"""Quantities found in a text: each number with its bounds, its unit, and the words around that qualify it."""

from collections import deque
from collections.abc import Sequence
from functools import cache, lru_cache
from typing import Literal, get_args

from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.numerals import Number, numbers
from bot.talk.understand.quantity import Quantity, Unit
from bot.talk.understand.tokens import Token
from bot.talk.understand.words import table

_UNITS = get_args(Unit)
_ORDINALS = frozenset({"th", "st", "nd", "rd", "yo", "y", "m", "w", "v", "x"})

Kind = Literal["value", "range", "below", "above"]


@cache
def _units() -> Lexicon:
    words = table("readings")
    return Lexicon({**words["units"], "other": words["other_units"]["unit"]})


@cache
def _around() -> Lexicon:
    return Lexicon({label: terms for label, terms in table("readings")["around"].items() if label != "filler"})


class Surroundings:
    """The qualifying words of a text, by where they start and where they end."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self.tokens = tokens
        self._ending: dict[int, set[str]] = {}
        self._starting: dict[tuple[int, str], int] = {}
        self._covered: set[int] = set()
        for hit in _around().hits(tokens):
            if hit.label in {"off_top", "off_bottom"}:
                self._covered.update(range(hit.start + 1, hit.end))
            self._ending.setdefault(hit.end, set()).add(hit.label)
            known = self._starting.get((hit.start, hit.label), 0)
            self._starting[hit.start, hit.label] = max(known, hit.end)

    def just_before(self, at: int) -> set[str]:
        """Labels of the terms that end where token `at` begins, a soft word between forgiven."""
        labels = set(self._ending.get(at, ()))
        if at > 0 and self.tokens[at - 1].text in {"about", "like", "ca", "a", "the", "~", ":", "="}:
            labels |= self._ending.get(at - 1, set())
        return labels

    def covers(self, at: int) -> bool:
        """Whether token `at` belongs to a wording like `the last one`, so that its number is none."""
        return at in self._covered

    def end_of(self, label: str, at: int) -> int | None:
        """Where a term with this label that starts at `at` ends."""
        return self._starting.get((at, label))


def quantities(tokens: Sequence[Token]) -> list[Quantity]:
    """All quantities, from the left."""
    return list(_quantities(tuple(tokens)))


@lru_cache(maxsize=32)
def _quantities(tokens: tuple[Token, ...]) -> tuple[Quantity, ...]:
    around = Surroundings(tokens)
    found: list[Quantity] = []
    waiting = deque(n for n in numbers(tokens) if not around.covers(n.start))
    while waiting:
        first = waiting.popleft()
        second = _second(tokens, around, first, waiting[0]) if waiting else None
        if second:
            waiting.popleft()
        found.append(_quantity(tokens, around, first, second))
    return tuple(found)


def unit_at(tokens: Sequence[Token], at: int) -> Hit | None:
    """The longest unit that starts at token `at`, of a reading or of anything else."""
    best = max(_units().at(tokens, at), key=lambda h: (h.end, h.label != "other"), default=None)
    if best and tokens[at].text in _ORDINALS and not tokens[at].glued:
        return None
    return best


def _second(tokens: Sequence[Token], around: Surroundings, first: Number, second: Number) -> Number | None:
    """The upper end where `first` and `second` are the two ends of one range."""
    after = first.end
    unit = unit_at(tokens, after) if after < len(tokens) else None
    if unit and unit.label != "other":
        after = unit.end
    if second.start <= after or second.value < 0:
        return None
    link = [t.text for t in tokens[after : second.start]]
    if not link or len(link) > 3:
        return None
    rising = second.values[-1] > first.values[0] or second.value > first.value
    if link == ["-"]:
        return second if rising else None
    if around.end_of("and", after) != second.start or not rising:
        return None
    opened = "between" in around.just_before(first.start)
    joined = link[0] in {"to", "bis", "till", "or", "a", "o", "ou", "oder"}
    comparable = second.value <= 3 * max(first.value, 1.0)
    return second if opened or (joined and comparable and "target" not in around.just_before(first.start)) else None


def _quantity(tokens: Sequence[Token], around: Surroundings, first: Number, second: Number | None) -> Quantity:
    last = second or first
    start, end = first.start, last.end
    unit: Unit | None = None
    other: str | None = None
    hit = unit_at(tokens, end) if end < len(tokens) else None
    if hit is None and end + 1 < len(tokens) and tokens[end].text in {"ish", "+", "-"}:
        hit = unit_at(tokens, end + 1)
    if hit:
        other = " ".join(t.text for t in tokens[hit.start : hit.end]) if hit.label == "other" else None
        unit = next((u for u in _UNITS if u == hit.label), None)
    kind = _kind(tokens, around, start, end) if second is None else "range"
    end = hit.end if hit else end
    text = " ".join(t.text for t in tokens[start:end]) if second else first.text
    return Quantity(
        start, end, kind, first.values, last.values, text, unit, other,
        aimed=bool(around.just_before(start) & {"target"}) and "between" not in around.just_before(start),
        shy=first.shy and second is None,
    )  # fmt: skip


def _kind(tokens: Sequence[Token], around: Surroundings, start: int, end: int) -> Kind:
    before = around.just_before(start)
    marks = [t.text for t in tokens[max(0, start - 2) : start]]
    if "<" in marks[-2:] and marks[-1:] != ["-"]:
        return "below"
    if marks[-1:] == [">"] or marks[-2:] == [">", "="]:
        return "above"
    after = tokens[end].text if end < len(tokens) else ""
    if "below" in before or around.end_of("below_after", end):
        return "below"
    if "above" in before or (after == "+" and tokens[end].glued) or around.end_of("above_after", end):
        return "above"
    return "value"

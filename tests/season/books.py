"""What a season comes to: what was seen of one tub, and the figures over many with their standard errors."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import NamedTuple

from tests.season.draw import Case
from tests.season.water import State

FIRST_DAYS = 4.0
"""Days after a fill that are not scored."""
STEADY_DAYS = 14.0
PH, ALKALINITY, CHLORINE = (7.2, 7.8), (50.0, 120.0), (3.0, 10.0)


class Noon(NamedTuple):
    """The water at noon."""

    at: float
    state: State
    scored: bool


class Begun(NamedTuple):
    """The water as somebody got in."""

    at: float
    state: State
    scored: bool


class Dose(NamedTuple):
    """What really went in, and the water just before and after."""

    at: float
    product: str
    grams: float
    balance: bool
    before: State
    after: State


@dataclass
class Book:
    """Everything that is counted of one tub."""

    case: Case
    noons: list[Noon] = field(default_factory=list)
    begun: list[Begun] = field(default_factory=list)
    doses: list[Dose] = field(default_factory=list)
    tests: list[float] = field(default_factory=list)
    better: list[float] = field(default_factory=list)
    refills: list[float] = field(default_factory=list)
    unprompted: list[float] = field(default_factory=list)
    notes: list[tuple[float, str]] = field(default_factory=list)
    """What a person would want to know who asks why a day was bad."""

    def counts(self, at: float) -> bool:
        """Whether a moment is scored: from the fourth day after a fill, holidays and the first day back left out."""
        fills = [0.0, *(fill for fill in self.refills if fill <= at)]
        home = not any(away.start <= at < away.end + 24.0 for away in self.case.aways)
        return at - max(fills) >= 24.0 * FIRST_DAYS and home

    def longest_without(self, moments: Iterable[float]) -> float:
        """The longest time at home without any of these, in days."""
        ends = sorted([0.0, *moments, 168.0 * self.case.weeks])
        return max(self._at_home(start, end) for start, end in pairwise(ends)) / 24.0

    def _at_home(self, start: float, end: float) -> float:
        away = (min(end, away.end) - max(start, away.start) for away in self.case.aways)
        return end - start - sum(hours for hours in away if hours > 0)

    def steady_weeks(self) -> list[float]:
        """Where the weeks begin that hold neither a holiday nor a young fill."""
        weeks = []
        for start in (168.0 * week for week in range(self.case.weeks)):
            young = any(start - 24.0 * STEADY_DAYS <= fill < start + 168.0 for fill in (0.0, *self.refills))
            away = any(away.start < start + 168.0 and away.end + 24.0 > start for away in self.case.aways)
            if not young and not away:
                weeks.append(start)
        return weeks


class Share(NamedTuple):
    """How often of how many, in one tub."""

    hits: float
    out_of: float


class Figure(NamedTuple):
    """A ratio over all tubs with its standard error."""

    value: float
    error: float

    @classmethod
    def of(cls, shares: Iterable[Share]) -> Figure:
        """Sum over sum; the error over tubs by linearisation (Cochran, Sampling Techniques, 3rd ed., 2.11)."""
        pairs = [share for share in shares if share.out_of]
        total = sum(share.out_of for share in pairs)
        if not total:
            return cls(math.nan, math.nan)
        ratio = sum(share.hits for share in pairs) / total
        n = len(pairs)
        spread = sum((share.hits - ratio * share.out_of) ** 2 for share in pairs)
        return cls(ratio, math.sqrt(spread * n / (n - 1)) / total if n > 1 else math.nan)


def within(value: float, bounds: tuple[float, float]) -> bool:
    """Whether a value lies in a range, ends included."""
    return bounds[0] <= value <= bounds[1]


def buffered(state: State) -> bool:
    """Whether alkalinity is in range, the total or that of carbonate: where cyanurate takes part the trade's books
    differ on which of them they mean.
    """
    return within(state.alkalinity, ALKALINITY) or within(state.carbonate_alkalinity, ALKALINITY)


def all_three(state: State) -> bool:
    """Whether pH, alkalinity (total or carbonate) and chlorine are all in range."""
    return within(state.ph, PH) and buffered(state) and within(state.free_chlorine, CHLORINE)


def _noons(good: Callable[[State], bool]) -> Callable[[Book], Share]:
    def share(book: Book) -> Share:
        scored = [noon.state for noon in book.noons if noon.scored]
        return Share(sum(map(good, scored)), len(scored))

    return share


def _soaks(good: Callable[[State], bool]) -> Callable[[Book], Share]:
    def share(book: Book) -> Share:
        scored = [begun.state for begun in book.begun if begun.scored]
        return Share(sum(map(good, scored)), len(scored))

    return share


def _unsafe(book: Book) -> Share:
    days = {int(noon.at // 24): not within(noon.state.ph, (6.8, 8.2)) for noon in book.noons if noon.scored}
    for begun in book.begun:
        if begun.scored and begun.state.free_chlorine < 1.0:
            days[int(begun.at // 24)] = True
    return Share(sum(days.values()), len(days))


def beyond(dose: Dose, ph: tuple[float, float], alkalinity: tuple[float, float]) -> bool:
    """Whether a dose carried pH or alkalinity past the far end of a range that it had not left at that end before."""
    return any(
        (after < before and after < low <= before) or (after > before and after > high >= before)
        for before, after, (low, high) in (
            (dose.before.ph, dose.after.ph, ph),
            (dose.before.alkalinity, dose.after.alkalinity, alkalinity),
        )
    )


def _overshoot(ph: tuple[float, float], alkalinity: tuple[float, float]) -> Callable[[Book], Share]:
    def share(book: Book) -> Share:
        doses = [dose for dose in book.doses if dose.balance]
        return Share(sum(beyond(dose, ph, alkalinity) for dose in doses), len(doses))

    return share


def _weekly(moments: Callable[[Book], Sequence[float]]) -> Callable[[Book], Share]:
    def share(book: Book) -> Share:
        weeks = book.steady_weeks()
        there = sum(any(start <= at < start + 168.0 for start in weeks) for at in moments(book))
        return Share(there, len(weeks))

    return share


def _grams(*products: str) -> Callable[[Book], Share]:
    def share(book: Book) -> Share:
        used = sum(dose.grams for dose in book.doses if dose.product in products)
        return Share(used, book.case.weeks)

    return share


FIGURES: dict[str, tuple[Callable[[Book], Share], float]] = {
    "pH 7.2-7.8 (% of days)": (_noons(lambda state: within(state.ph, PH)), 100),
    "alkalinity 50-120, total or carbonate": (_noons(buffered), 100),
    "total alkalinity 50-120": (_noons(lambda state: within(state.alkalinity, ALKALINITY)), 100),
    "free chlorine 3-10": (_noons(lambda state: within(state.free_chlorine, CHLORINE)), 100),
    "all three": (_noons(all_three), 100),
    "soaks begun with 1 mg/L (%)": (_soaks(lambda state: state.free_chlorine >= 1.0), 100),
    "soaks begun with 3 mg/L (%)": (_soaks(lambda state: state.free_chlorine >= 3.0), 100),
    "unsafe (% of days)": (_unsafe, 100),
    "pH under 7.2": (_noons(lambda state: state.ph < PH[0]), 100),
    "pH over 7.8": (_noons(lambda state: state.ph > PH[1]), 100),
    "alkalinity under 50": (_noons(lambda state: not buffered(state) and state.alkalinity < ALKALINITY[0]), 100),
    "alkalinity over 120": (_noons(lambda state: not buffered(state) and state.alkalinity > ALKALINITY[1]), 100),
    "chlorine under 3": (_noons(lambda state: state.free_chlorine < CHLORINE[0]), 100),
    "chlorine over 10": (_noons(lambda state: state.free_chlorine > CHLORINE[1]), 100),
    "cyanurate over 50": (_noons(lambda state: state.cyanurate > 50.0), 100),
    "doses past their range (% of balancing)": (_overshoot(PH, ALKALINITY), 100),
    "doses past the bounds (% of balancing)": (_overshoot((7.0, 8.0), (30.0, 180.0)), 100),
    "additions a steady week": (_weekly(lambda book: [dose.at for dose in book.doses]), 1),
    "tests a steady week": (_weekly(lambda book: book.tests), 1),
    "unprompted messages a steady week": (_weekly(lambda book: book.unprompted), 1),
    "refills in 26 weeks": (lambda book: Share(len(book.refills) * 26, book.case.weeks), 1),
    "chlorine products (g a week)": (_grams("dichlor", "hypochlorite"), 1),
    "monopersulfate (g a week)": (_grams("monopersulfate"), 1),
    "pH and alkalinity products (g a week)": (_grams("bisulfate", "soda_ash", "bicarbonate"), 1),
}
"""What is reported: the share in one tub, and by what it is multiplied."""


def figures(books: Sequence[Book]) -> dict[str, Figure]:
    """Every figure over these tubs."""
    out = {}
    for name, (share, scale) in FIGURES.items():
        found = Figure.of(map(share, books))
        out[name] = Figure(found.value * scale, found.error * scale)
    return out


def table(columns: dict[str, Sequence[Book]]) -> str:
    """The figures of several ways side by side, each with its standard error."""
    found = {name: figures(books) for name, books in columns.items()}
    width = max(map(len, FIGURES)) + 2
    lines = [" " * width + "".join(f"{name:>22}" for name in found)]
    for row in FIGURES:
        cells = (f"{figure[row].value:.1f} ± {figure[row].error:.1f}" for figure in found.values())
        lines.append(f"{row:<{width}}" + "".join(f"{cell:>22}" for cell in cells))
    return "\n".join(lines)

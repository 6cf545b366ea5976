"""The personal card: the routine in grams of one product, in what the owner can measure, within what is allowed."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dosing.arrows import OXIDISER, effect
from dosing.history import Soak
from dosing.products import QUARTER, Product
from dosing.season.drift import PH
from dosing.season.one import One
from dosing.season.priors import DOSE
from dosing.season.sanitizer import chosen, strength
from dosing.season.tub import TENTH, Estimate, gaussian
from dosing.substances import CL2

NoCard = Literal[
    "no_reading",  # sanitizer was never read
    "test_overdue",  # the last test is too old
    "reading_not_fine",  # the last test found too little sanitizer, and nothing was poured in that sitting
    "no_product",  # the kit holds no sanitizer that may be used
]
CardCode = Literal["first", "as_before", "more", "less"]
DoseCode = Literal["after_soak", "idle", "oxidise", "oxidise_regularly", "before_holiday"]
_LEAST = 0.3
"""mg/L: a smaller dose is not worth a trip to the tub."""
_ENOUGH = 1.0
"""mg/L below its fine range that a reading may be for the routine to go on: it corrects that itself."""
_FORGOTTEN_DAYS = 1.7
"""From one evening to the noon after the next: so long the level has to last where the next dose is forgotten."""
_LOW, _HIGH = 0.31, 0.84
"""Chances of a lower level: at the first it still has to last, at the second no dose may pass the bound."""
_HIGH_END = 0.5
"""mg/L under the bound that the water is brought to before a holiday."""
_DEBT = 4.0
"""mg/L that bathers left over, from which an oxidiser takes its part."""
_OXIDISED_HOURS = 20.0
"""So long after an oxidiser no other follows."""
_WORTH = 0.3
"""Share of an oxidiser's usual dose from which it is worth a trip."""
_LEAST_PH = 7.35
"""pH that its acid may leave."""
_SLOWEST = 0.18
"""Rate a day at which nine tubs of ten lose more (dosing.season.priors.LOSS)."""
_AGAIN_HOURS = 2.5
"""So long after a dose that bathers' leavings use up another may follow."""
_AT_WORK_HOURS = 3.0
"""Time in which such a dose is used up but for a third (e-folding)."""


@dataclass(frozen=True, slots=True)
class Card:
    """Grams of `product`, multiples of `step`.

    After each soak `each_soak` and `each_bather_hour` for each person and hour; after `idle_days` without any addition
    `idle`, for the first time in `first_idle_hours`. Never more than `most` at once, which brings `rises` mg/L. It
    holds for `good_for_hours`; then a test is overdue.
    """

    product: str
    each_soak: float
    each_bather_hour: float
    idle_days: int
    idle: float
    first_idle_hours: float
    before_holiday: float
    after_holiday: float
    most: float
    rises: float
    good_for_hours: float
    step: float

    def after_soak(self, bathers: int, minutes: float) -> float:
        """Grams after so many people bathed so long."""
        return rounded(self.each_soak + self.each_bather_hour * bathers * minutes / 60.0, self.step, self.most)

    def against(self, before: Card | None) -> CardCode:
        """What became of an earlier card: a day's worth more or less, by a tenth and one measure."""
        if before is None or before.product != self.product:
            return "first"
        now, then = self.idle / self.idle_days, before.idle / before.idle_days
        if abs(now - then) <= max(0.1 * then, self.step / self.idle_days):
            return "as_before"
        return "more" if now > then else "less"


@dataclass(frozen=True, slots=True)
class Dose:
    """Grams of a product now; `level` mg/L of sanitizer before, `predicted` after, both net of what bathers left."""

    product: str
    grams: float
    code: DoseCode
    level: Estimate
    predicted: Estimate
    again_hours: float | None = None
    """Hours after which to ask for another, where this one cannot meet all that bathers left."""


def rounded(grams: float, step: float, most: float) -> float:
    """The nearest amount that can be measured, never above `most`."""
    steps = min(round(grams / step), math.floor(most / step + 1e-9))
    return round(max(0, steps) * step, 2)


def step_of(product: Product) -> float:
    """Grams of the smallest amount that the owner can measure: a quarter of the smallest measure, or a gram."""
    smallest = min((measure.millilitres for measure in product.measures), default=None)
    return 1.0 if smallest is None else QUARTER * smallest * product.density


def why_no_card(one: One) -> NoCard | None:
    """What stands against a card; None where nothing does."""
    read = one.last_read
    if read is None:
        return "no_reading"
    if read.hours_ago > 24.0 * one.tub.test_days:
        return "test_overdue"
    if one.base < one.least - _ENOUGH:
        return "reading_not_fine"
    return "no_product" if _product(one) is None else None


def card_of(one: One) -> Card | None:
    """The card, if there may be one."""
    product, read = _product(one), one.last_read
    if why_no_card(one) is not None or product is None or read is None:
        return None
    each, step, rises = strength(one.tub, product), step_of(product), _rises(one, product)
    days, idle, each_soak, each_hour, peak = (
        float(getattr(one.routine, name)[0]) for name in ("days", "idle", "each_soak", "each_bather_hour", "peak")
    )
    most = rises / each

    def grams(mg_per_litre: float) -> float:
        return rounded(mg_per_litre / each, step, most)

    return Card(
        product=product.key,
        each_soak=grams(each_soak),
        each_bather_hour=round(each_hour / each, 2),
        idle_days=int(days),
        idle=grams(idle),
        first_idle_hours=_lasts_hours(one),
        before_holiday=grams(one.bound - _HIGH_END - (peak - idle)),
        after_holiday=grams(peak),
        most=rounded(most, step, most),
        rises=round(rises, 2),
        good_for_hours=max(0.0, 24.0 * one.tub.test_days - read.hours_ago),
        step=step,
    )


def dose_now(one: One, card: Card, soak: Soak | None) -> Dose | None:
    """What brings the level as it is believed to the routine's peak: after a soak, whether the journal holds it already
    or not, or because without it the level might not last if the next dose were forgotten. Never so much that it
    passes the bound with the level as high as five of six times.

    Where bathers left more than one dose can cover, an oxidiser comes first: it takes its part and leaves no chlorine.
    """
    product = _product(one)
    if product is None:
        return None
    each, peak = strength(one.tub, product), float(one.routine.peak[0])
    mean, spread = one.sanitizer
    untold = soak is not None and not _told(one, soak)
    taken = float(one.routine.each_bather_hour[0]) * soak.bathers * soak.minutes / 60.0 if soak and untold else 0.0
    mean -= taken
    if mean < -_DEBT and (oxidised := _oxidised(one, "oxidise", mean, -mean)) is not None:
        return oxidised
    wanted = min(peak - mean, _rises(one, product, soak), _room(one, mean, taken))
    grams = rounded(wanted / each, card.step, wanted / each)
    if grams <= 0 or wanted < _LEAST or (soak is None and _lasts(one)):
        return None
    after, doubt = mean + grams * each, float(np.hypot(spread, DOSE * grams * each))
    return Dose(
        product.key,
        grams,
        "idle" if soak is None else "after_soak",
        gaussian(mean, spread, least=0.0),
        gaussian(after, doubt, least=0.0),
        _AGAIN_HOURS if after < one.least else None,
    )


def _room(one: One, mean: float, taken: float = 0.0) -> float:
    """mg/L that a dose may bring: with the level and the dose as high as five of six times, both together, it ends at
    the bound. `taken` is what bathers left of whom `one` does not know, `mean` the likely level with that; what the
    last hours' doses may still hold is there for certain.
    """
    certain = max(0.0, mean, _at_work(one))
    space, doubt = one.bound - certain, max(0.0, one.level(_HIGH) - taken - certain)
    if doubt >= space:
        return 0.0
    rest = 1.0 - DOSE**2
    return (space - math.sqrt(space**2 - rest * (space**2 - doubt**2))) / rest


def _at_work(one: One) -> float:
    """mg/L of the last hours' doses that may still be there, whatever bathers left."""
    ago, poured = one.line.ago[0], one.line.oxidant[0]
    return float((poured * np.exp(-ago / _AT_WORK_HOURS))[ago < 4.0 * _AT_WORK_HOURS].sum())


def holiday_dose(one: One) -> Dose | None:
    """What brings the level as it is believed to the high end, for days in which nobody adds anything; it passes the
    bound no more than any other dose. None where nothing is needed.
    """
    product, (mean, spread) = _product(one), one.sanitizer
    if product is None:
        return None
    each = strength(one.tub, product)
    wanted = min(one.bound - _HIGH_END - mean, _rises(one, product), _room(one, mean))
    grams = rounded(wanted / each, step_of(product), wanted / each)
    if grams <= 0 or wanted < _LEAST:
        return None
    after = gaussian(mean + grams * each, float(np.hypot(spread, DOSE * grams * each)), least=0.0)
    return Dose(product.key, grams, "before_holiday", gaussian(mean, spread, least=0.0), after)


def _told(one: One, soak: Soak) -> bool:
    """Whether the journal holds this soak."""
    return any(
        isinstance(e, Soak)
        and (e.bathers, e.minutes) == (soak.bathers, soak.minutes)
        and math.isclose(e.hours_ago, soak.hours_ago, abs_tol=0.05)
        for e in one.history
    )


def _lasts(one: One) -> bool:
    return _lasts_hours(one) > 0.0


def _lasts_hours(one: One) -> float:
    """For how long no dose is needed if nobody bathes: so that one that is forgotten then still does no harm."""
    level, rate = one.level(_LOW), float(one.belief.level.rates(0.5)[0])
    if level <= one.least:
        return 0.0
    return round(24.0 * max(0.0, math.log(level / one.least) / rate - _FORGOTTEN_DAYS), 1)


def regular_oxidiser(one: One) -> Dose | None:
    """The oxidiser's usual dose, as far as its acid leaves pH where it should be; None where the kit has none, where
    one went in lately, and where pH allows too little to be worth a trip.
    """
    doubt = math.sqrt(float(one.belief.balance.spread[0, PH, PH]))
    least = max(_LEAST_PH, one.tub.limits.ph_fine[0] + TENTH * doubt)
    return _oxidised(one, "oxidise_regularly", one.sanitizer[0], math.inf, least)


def _oxidised(one: One, code: DoseCode, mean: float, wanted: float, least_ph: float = _LEAST_PH) -> Dose | None:
    """The kit's oxidiser against `wanted` mg/L that bathers left, up to its usual dose; None where there is none, or
    none again. `mean` is the level as it is believed, net of what they left; the likely pH stays above `least_ph`.
    """
    product = next((p for p in one.tub.kit.products if p.main == OXIDISER), None)
    lately = one.line.ago[0] < _OXIDISED_HOURS
    if product is None or one.tub.key == "br" or bool((one.line.oxidiser[0][lately] > 0).any()):
        return None
    spread = one.sanitizer[1]
    brought = effect(product.split(1.0)).per(one.tub.volume)
    each = brought.oxygen * CL2
    usual = one.tub.limits.monopersulfate_dose / product.substances[OXIDISER] * one.tub.volume / 1000.0
    shares = np.linspace(0.0, 1.0, 9)
    held, level = one.belief.held, one.belief.level.likely()
    ph = [
        float(one.belief.balance.acidified(-share * usual * brought.alkalinity_spent, level, held[:, 0], held[:, 3])[0])
        for share in shares
    ]
    allowed = usual * float(shares[np.asarray(ph) >= least_ph].max(initial=0.0))
    grams = rounded(min(wanted / each, usual), step_of(product), allowed)
    if grams < _WORTH * usual:
        return None
    after = gaussian(max(mean, min(0.0, mean + grams * each)), spread, least=0.0)
    return Dose(product.key, grams, code, gaussian(mean, spread, least=0.0), after)


def _product(one: One) -> Product | None:
    return chosen(one.tub, float(one.belief.held[0, 0]))


def _rises(one: One, product: Product, soak: Soak | None = None) -> float:
    """mg/L that one dose of the routine may bring: with no loss since the test but the least that those who bathed
    since then took, it ends at the bound or below, and the label's own maximum holds. What was found above the range
    goes by the slowest loss of any tub, however fast this one is believed to be.
    """
    read = one.last_read
    since = [e for e in one.history if isinstance(e, Soak) and read is not None and e.hours_ago <= read.hours_ago]
    if soak is not None and not _told(one, soak):
        since.append(soak)
    taken = float(one.belief.level.demands(0.1)[0]) * sum(each.bathers * each.minutes / 60.0 for each in since)
    days = read.hours_ago / 24.0 if read is not None else 0.0
    held = max(min(one.found, one.most), one.found * math.exp(-_SLOWEST * days))
    rises = max(0.0, one.bound - max(0.0, held - taken))
    if product.label_max_g_per_1000l is None:
        return rises
    return min(rises, strength(one.tub, product) * product.label_max_g_per_1000l * one.tub.volume / 1000.0)

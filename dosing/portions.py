"""How much of a mix goes in before the next reading: the greatest step, half doses of acid, and what is safe."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Literal, TypeAlias

from dosing.arrows import BICARBONATES, Effect, effect
from dosing.caps import step_cap
from dosing.codes import AskCode, CautionCode, WhyCode
from dosing.limits import Limits
from dosing.order import Dose
from dosing.products import Product
from dosing.region import Region
from dosing.steps import Why

Way = Literal[-1, 0, 1]
_WORTH = 0.05
"""A smaller share of a dose than this is not worth a step: the bounds, not the dose, are what there is to solve."""
_AIR_COST = 0.8
"""Of running the jets, against 1 for opening a pack."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which way alkalinity and pH should go, and the alkalinity to aim at.

    `index` is the saturation index where it alone asks for that, each reading by itself being fine.
    """

    alkalinity: Way
    ph: Way
    aim: float
    index: float | None = None


@dataclass(frozen=True, slots=True)
class Balance:
    """Doses for alkalinity and pH, the region after them, and what is still missing for the aim.

    `rest` is grams per 1,000 L of product that later visits will want, by product.
    """

    doses: tuple[Dose, ...] = ()
    after: Region | None = None
    rest: tuple[tuple[Product, float], ...] = ()
    asks: tuple[AskCode, ...] = ()


@dataclass(frozen=True, slots=True)
class Arrow:
    """A product (or, without one, air) in the plane: mg/L alkalinity and mmol/L DIC per g per 1,000 L (or per mmol)."""

    product: Product | None
    alkalinity: float
    dic: float
    cost_each: float
    cost_unit: float


_BASED_ABOVE = 0.04
"""pH by which a base may lift water that stands above `Limits.ph_based` already: acid, or a day, comes between."""
AIR = Arrow(None, 0.0, -1.0, _AIR_COST, 0.5)
Mix: TypeAlias = tuple[tuple[Arrow, float], ...]


def _total(mix: Sequence[tuple[Arrow, float]]) -> Effect:
    total = Effect()
    for arrow, amount in mix:
        if arrow.product is not None:
            total = total.plus(
                effect(arrow.product.split(amount)).with_alkalinity(arrow.product.alkalinity_per_g * amount)
            )
    return total


def portions(region: Region, mix: Mix, want: Wanted, limits: Limits, acid_most: float = math.inf) -> Balance:
    """Cut a mix down to its safe part and make doses of it, bases before acid before air.

    Acid goes in by half of the correction (`acid_most` is how much there is room for by pH), all else whole; where a
    base with so little acid behind it would leave the bounds, half of both, or the whole of both.
    """
    wholes = [(arrow, amount) for arrow, amount in mix if arrow.product is not None]
    parts = [(arrow, _first(arrow, amount, acid_most, limits)) for arrow, amount in wholes]
    safe, after = _safe_share(region, parts, limits)
    for share in (0.5, 1.0) if len({arrow.alkalinity > 0 for arrow, _ in parts}) > 1 else ():
        if safe == 0.0:
            parts = [(arrow, amount * share) for arrow, amount in wholes]
            safe, after = _safe_share(region, parts, limits)
    bases = [(arrow, amount * safe) for arrow, amount in parts if arrow.alkalinity > 0]
    met = region.dosed(_total(bases)) if bases else region
    doses, rest = [], []
    for (arrow, amount), (_, whole) in zip(parts, wholes, strict=True):
        given = amount * safe
        if given > 0:
            doses.append(_dose(arrow, given, whole, want, region if arrow.alkalinity > 0 else met, limits))
        if arrow.product is not None and whole - given > 1e-9:
            rest.append((arrow.product, whole - given))
    if any(arrow.product is None for arrow, _ in mix) and (safe >= 1.0 or not parts or want.alkalinity < 0):
        minutes, aired = after.aired_to_ph(limits.ph_aim, region, limits)
        if minutes:
            why = Why("air_lifts_ph", {"ph": round(float(after.ph[0]), 2), "aim": limits.ph_aim})
            doses.append(Dose("aerate", "air", why, minutes=minutes))
            after = aired
    return Balance(tuple(doses), after, tuple(rest))


def _safe_share(region: Region, parts: Sequence[tuple[Arrow, float]], limits: Limits) -> tuple[float, Region]:
    """The share that the greatest step and the bounds allow, and the region after it; 0 where that is a crumb."""
    most = 1.0
    for arrow, amount in parts:
        assert arrow.product is not None
        most = min(most, step_cap(arrow.product, limits) / amount) if amount > 0 else most
    bases = [(arrow, amount) for arrow, amount in parts if arrow.alkalinity > 0]
    followed = len(bases) < len(parts) or limits.ph_based < limits.ph_bounds[1]
    allowed = _of_bases(region, bases, limits, most) if bases and followed else most
    total, more = _total(parts), 1.0 + (limits.acid_overdose if not bases else 0.0)
    safe, after = region.safely(total, region, limits, allowed * more)
    if more > 1.0:
        safe = min(allowed, safe / more)
        after = region.dosed(total.times(safe))
    return (safe, after) if safe >= _WORTH * most else (0.0, region)


def _of_bases(region: Region, bases: Sequence[tuple[Arrow, float]], limits: Limits, most: float) -> float:
    """The share of bases that may stand in the water until the next test, or for the quarter of an hour until the acid
    follows.

    The most likely pH holds its bounds in between; corners and scale, which takes longer, count at the end.
    """
    likely, (low, high) = region.likely, limits.ph_bounds
    high = min(high, max(limits.ph_based, float(likely.ph[0]) + _BASED_ABOVE))
    held = replace(limits, saturation_bound=math.inf, ph_bounds=(low, high))
    share, _ = likely.safely(_total(bases), likely, held, most)
    return share


def _first(arrow: Arrow, amount: float, acid_most: float, limits: Limits) -> float:
    """What goes in before the next reading: of acid half of the correction, of all else the whole (common practice)."""
    if arrow.alkalinity > 0:
        return amount
    return min(amount if amount <= limits.acid_whole else amount / 2.0, acid_most)


def _dose(arrow: Arrow, amount: float, whole: float, want: Wanted, region: Region, limits: Limits) -> Dose:
    product = arrow.product
    assert product is not None
    why = _why(arrow, want, region, limits)
    cautions: tuple[CautionCode, ...] = ()
    if amount < whole * 0.999:
        cautions = ("half_dose",) if arrow.alkalinity < 0 and amount > whole * 0.499 else ("safe_part_only",)
    if arrow.alkalinity > 0:
        soda = product.main not in BICARBONATES and want.alkalinity <= 0
        key = "ph_up" if soda else "alkalinity_up" if product.main in BICARBONATES else "alkalinity_and_ph_up"
        return Dose(key, "base", why, product, amount, cautions=cautions)
    key = "alkalinity_down" if why.code == "alkalinity_high" else "ph_down"
    return Dose(key, "acid", why, product, amount, cautions=cautions)


def _why(arrow: Arrow, want: Wanted, region: Region, limits: Limits) -> Why:
    ph, ta = round(float(region.ph[0]), 2), round(float(region.alkalinity[0]), 1)
    if want.index is not None:
        code: WhyCode = "saturation_low" if want.index < 0 else "saturation_high"
        return Why(code, {"saturation_index": round(want.index, 2)})
    if arrow.alkalinity > 0:
        assert arrow.product is not None
        soda = arrow.product.main not in BICARBONATES and want.alkalinity <= 0
        return (
            Why("ph_low", {"ph": ph, "aim": limits.ph_aim})
            if soda
            else Why("alkalinity_low", {"ta": ta, "aim": want.aim})
        )
    if want.alkalinity < 0 and want.ph >= 0:
        return Why("alkalinity_high", {"ta": ta, "aim": want.aim})
    return Why("ph_high", {"ph": ph, "aim": limits.ph_aim})

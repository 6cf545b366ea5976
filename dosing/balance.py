"""Alkalinity and pH: which way they should go, and the cheapest arrows of the kit that bring them there.

In the plane of alkalinity (mg/L CaCO3) and DIC (mmol/L) the water is a point, every product a constant arrow, and air
an arrow that only takes DIC away. One arrow, or two, reach an aim; the cheapest that needs no negative dose is taken.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import combinations
from typing import Literal, TypeAlias

import numpy as np
from numpy.typing import NDArray

from dosing.arrays import Array
from dosing.arrows import ACIDS, ALKALIES, BICARBONATES, CARBONATES, Effect, effect
from dosing.caps import step_cap
from dosing.codes import AskCode
from dosing.ledger import Trend
from dosing.limits import Limits
from dosing.order import Dose
from dosing.products import Kit, Product
from dosing.readings import Interval
from dosing.region import Region
from dosing.steps import Why

Way = Literal[-1, 0, 1]
_PARTS = 20
_AIR_COST = 0.8
_CARBONATE_RISK = 2.0
"""Added to the cost of soda ash where alkalinity is to rise: it overshoots pH in weakly buffered water."""
_WORTH = 0.05
"""A smaller share of a dose than this is not worth a step: the bounds, not the dose, are what there is to solve."""


@dataclass(frozen=True, slots=True)
class Wanted:
    """Which way alkalinity and pH should go, and the alkalinity to aim at."""

    alkalinity: Way
    ph: Way
    aim: float


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


AIR = Arrow(None, 0.0, -1.0, _AIR_COST, 0.5)
Mix: TypeAlias = tuple[tuple[Arrow, float], ...]


def wanted(water: Mapping[str, Interval], region: Region, trend: Trend, aim: float, limits: Limits) -> Wanted:
    """Judge alkalinity and pH: wanted where most of what the reading allows, and the most likely water, is outside."""
    ph, ta = (part.ravel() for part in np.meshgrid(_evenly(water["ph"]), _evenly(water["ta"])))
    ph, ta = np.append(ph, water["ph"].likely), np.append(ta, water["ta"].likely)
    low_ta, high_ta = limits.alkalinity_fine
    bouncing, climbing = trend == "bouncing", trend == "climbing"
    low = (ta < low_ta) | ((ta < limits.alkalinity_low_if_ph_low) & ((ph < limits.ph_with_alkalinity_low) | bouncing))
    high = (ta > limits.alkalinity_high) | ((ta > high_ta) & ((ph > limits.ph_with_alkalinity_high) | climbing))
    alkalinity: Way = 1 if _sure(low) else -1 if _sure(high) else 0
    acid, base = _sure(ph < limits.ph_fine[0]), _sure(ph > limits.ph_fine[1])
    if alkalinity == 0 and not acid and not base and _scales(region, limits):
        return Wanted(0, -1, aim)
    return Wanted(alkalinity, 1 if acid else -1 if base else 0, aim)


def _evenly(interval: Interval) -> Array:
    """What a reading allows, each as likely as the other: an eye errs up as often as down, so half lies either side."""
    parts = (np.arange(_PARTS) + 0.5) / _PARTS
    below = interval.low + (interval.likely - interval.low) * parts
    return np.concatenate([below, interval.likely + (interval.high - interval.likely) * parts])


def _sure(where: NDArray[np.bool_]) -> bool:
    return bool(where[-1]) and float(np.mean(where[:-1])) > 0.5 + 1e-9


def _scales(region: Region, limits: Limits) -> bool:
    """Hard water that would scale although pH is in its range: a lower pH comes before a water change."""
    hard = float(region.hardness[0]) > limits.hardness_fine[1] and float(region.ph[0]) > limits.scaling_ph
    return hard and float(region.saturation_index[0]) > limits.saturation_fine[1]


def arrows(kit: Kit) -> list[Arrow]:
    """Every product of the kit that moves alkalinity or DIC and is meant to."""
    out = []
    for product in kit.holding(ALKALIES | ACIDS):
        if not (product.buffer or product.binder):
            each = effect(product.substances)
            cost = 1.0 + (_CARBONATE_RISK if product.main in CARBONATES else 0.0)
            out.append(
                Arrow(product, each.alkalinity + product.alkalinity_per_g, each.dic, cost, product.price / 1000.0)
            )
    return out


def balance(region: Region, want: Wanted, kit: Kit, limits: Limits, *, air_first: bool) -> Balance:
    """The safe doses toward the aim; `air_first` where the water is new and still holds carbon dioxide."""
    if want.alkalinity == 0 and want.ph == 0:
        return Balance(after=region)
    if want.alkalinity < 0:
        return _lower(region, want, kit, limits)
    if want.alkalinity > 0:
        return _raise(region, want, kit, limits, air_first=air_first)
    return (
        _ph_down(region, want, kit, limits) if want.ph < 0 else _ph_up(region, want, kit, limits, air_first=air_first)
    )


def _raise(region: Region, want: Wanted, kit: Kit, limits: Limits, *, air_first: bool) -> Balance:
    """Alkalinity up: bicarbonate by itself where pH stays fine, else with acid, soda ash or air to the aim of both."""
    best = region.likely
    need_ta = want.aim - float(best.alkalinity[0])
    at_aim, at_high, at_low = best.dic_at(ph=(limits.ph_aim, *reversed(limits.ph_fine)), alkalinity=want.aim)
    now = float(best.dic[0])
    ups = [arrow for arrow in arrows(kit) if arrow.alkalinity > 0]
    if not ups:
        return Balance(after=region, asks=("product_alkalinity",))
    if need_ta <= 0:
        return _ph_up(region, want, kit, limits, air_first=air_first) if want.ph > 0 else Balance(after=region)
    alone: list[Mix] = [((arrow, need_ta / arrow.alkalinity),) for arrow in ups]
    plans = [
        (_cost(mix), mix)
        for mix in alone
        if at_high <= now + sum(arrow.dic * amount for arrow, amount in mix) <= at_low
    ]
    pool = [*arrows(kit), AIR]
    pairs = (pair for pair in combinations(pool, 2) if not _undone(*pair))
    plans += [(_cost(mix), mix) for pair in pairs if (mix := _exact(pair, need_ta, at_aim - now))]
    if not plans:
        arrow = max(ups, key=lambda it: it.dic / it.alkalinity)
        ash_alone = arrow.product is not None and arrow.product.main in CARBONATES
        asks: tuple[AskCode, ...] = ("product_alkalinity",) if ash_alone else ("product_acid",)
        return replace(_doses(region, ((arrow, need_ta / arrow.alkalinity),), want, limits), asks=asks)
    return _doses(region, min(plans, key=lambda plan: plan[0])[1], want, limits)


def _undone(one: Arrow, two: Arrow) -> bool:
    """Soda ash and acid: what the one does to pH the other takes back, and both run far past it in between."""
    mains = {arrow.product.main for arrow in (one, two) if arrow.product is not None}
    return bool(mains & CARBONATES and mains & ACIDS)


def _exact(pair: tuple[Arrow, Arrow], ta: float, dic: float) -> Mix:
    """Amounts of two arrows that together move exactly so far; empty where one would be negative."""
    one, two = pair
    area = one.alkalinity * two.dic - two.alkalinity * one.dic
    if abs(area) < 1e-9:
        return ()
    x, y = (ta * two.dic - two.alkalinity * dic) / area, (one.alkalinity * dic - ta * one.dic) / area
    return ((one, x), (two, y)) if x > 1e-6 and y > 1e-6 else ()


def _cost(mix: Sequence[tuple[Arrow, float]]) -> float:
    return sum(arrow.cost_each + arrow.cost_unit * amount for arrow, amount in mix)


def _total(mix: Sequence[tuple[Arrow, float]]) -> Effect:
    total = Effect()
    for arrow, amount in mix:
        if arrow.product is not None:
            total = total.plus(
                effect(arrow.product.split(amount)).with_alkalinity(arrow.product.alkalinity_per_g * amount)
            )
    return total


def _ph_up(region: Region, want: Wanted, kit: Kit, limits: Limits, *, air_first: bool) -> Balance:
    """pH up: air where alkalinity is at its aim or above (or the water is new), soda ash where it may rise with pH."""
    best = region.likely
    sodas = [arrow for arrow in arrows(kit) if arrow.product is not None and arrow.product.main in CARBONATES]
    alkalinity = float(best.alkalinity[0])
    if air_first or not sodas or alkalinity >= want.aim:
        aired = _doses(region, ((AIR, 1.0),), want, limits)
        return aired if aired.doses or sodas else replace(aired, asks=("product_ph_up",))
    soda = min(sodas, key=lambda arrow: arrow.cost_unit)
    product = soda.product
    assert product is not None
    amount = best.amount_to_ph(effect(product.substances), limits.ph_aim)
    if alkalinity + amount * soda.alkalinity > limits.alkalinity_fine[1]:
        return _doses(region, ((AIR, 1.0),), want, limits)
    return _doses(region, ((soda, amount),), want, limits)


def _acid(kit: Kit) -> Arrow | None:
    acids = [arrow for arrow in arrows(kit) if arrow.product is not None and arrow.product.main in ACIDS]
    return min(acids, key=lambda arrow: arrow.cost_unit / -arrow.alkalinity, default=None)


def _ph_down(region: Region, want: Wanted, kit: Kit, limits: Limits) -> Balance:
    """pH down by acid; where that would leave too little alkalinity, bicarbonate first and then acid."""
    acid = _acid(kit)
    if acid is None or acid.product is None:
        return Balance(after=region, asks=("product_acid",))
    best = region.likely
    amount = best.amount_to_ph(effect(acid.product.substances), limits.ph_aim)
    if float(best.alkalinity[0]) + amount * acid.alkalinity < limits.alkalinity_fine[0]:
        both = _raise(region, replace(want, alkalinity=1), kit, limits, air_first=False)
        if len(both.doses) > 1:
            return both
    return _doses(region, ((acid, amount),), want, limits)


def _lower(region: Region, want: Wanted, kit: Kit, limits: Limits) -> Balance:
    """Alkalinity down by acid and air in turns: acid only as far as pH allows, air before acid where pH is low."""
    if want.ph > 0:
        return _doses(region, ((AIR, 1.0),), want, limits)
    acid = _acid(kit)
    if acid is None or acid.product is None:
        return Balance(after=region, asks=("product_acid",))
    best = region.likely
    whole = max(0.0, (want.aim - float(best.alkalinity[0])) / acid.alkalinity)
    floor = limits.ph_aim if want.ph < 0 else limits.alkalinity_acid_to
    amount = min(whole, best.amount_to_ph(effect(acid.product.substances), floor))
    turns: Mix = ((acid, amount), (AIR, 1.0)) if amount < whole else ((acid, amount),)
    done = _doses(region, turns, want, limits)
    given = sum(dose.rate for dose in done.doses if dose.kind == "acid")
    return replace(done, rest=((acid.product, whole - given),) if whole > given else ())


def _doses(region: Region, mix: Sequence[tuple[Arrow, float]], want: Wanted, limits: Limits) -> Balance:
    """Cut a mix down to its safe part and make doses of it, bases before acid before air."""
    products = [(arrow, amount) for arrow, amount in mix if arrow.product is not None]
    most = 1.0
    for arrow, amount in products:
        assert arrow.product is not None
        steps = limits.acid_steps_a_plan if arrow.alkalinity < 0 else 1
        most = min(most, steps * step_cap(arrow.product, limits) / amount) if amount > 0 else most
    bases = [(arrow, amount) for arrow, amount in products if arrow.alkalinity > 0]
    allowed = _until_acid(region, bases, limits, most) if len(bases) < len(products) else most
    safe, after = region.safely(_total(products), region, limits, allowed)
    if safe < _WORTH * most:
        safe, after = 0.0, region
    given = [(arrow, amount * safe) for arrow, amount in products if amount * safe > 0]
    met = region.dosed(_total(bases).times(safe)) if bases else region
    doses = [
        dose
        for arrow, amount in given
        for dose in _portions(arrow, amount, want, region if arrow.alkalinity > 0 else met, limits, safe < 1.0)
    ]
    rest = [(a.product, amount * (1 - safe)) for a, amount in products if a.product is not None and safe < 1.0]
    if any(arrow.product is None for arrow, _ in mix) and (safe >= 1.0 or not products or want.alkalinity < 0):
        minutes, aired = after.aired_to_ph(limits.ph_aim, region, limits)
        if minutes:
            why = Why("air_lifts_ph", {"ph": round(float(after.ph[0]), 2), "aim": limits.ph_aim})
            doses.append(Dose("aerate", "air", why, minutes=minutes))
            after = aired
    return Balance(tuple(doses), after, tuple(rest))


def _until_acid(region: Region, bases: Sequence[tuple[Arrow, float]], limits: Limits, most: float) -> float:
    """The share of bases that may stand in the water for the quarter of an hour until the acid follows.

    The most likely pH holds its bounds in between; corners and scale, which takes longer, count at the end.
    """
    likely = region.likely
    share, _ = likely.safely(_total(bases), likely, replace(limits, saturation_bound=math.inf), most)
    return share


def _portions(arrow: Arrow, amount: float, want: Wanted, region: Region, limits: Limits, partial: bool) -> list[Dose]:
    product = arrow.product
    assert product is not None
    ph, ta = round(float(region.ph[0]), 2), round(float(region.alkalinity[0]), 1)
    cautions: tuple[str, ...] = ("safe_part_only",) if partial else ()
    if arrow.alkalinity > 0:
        soda = product.main not in BICARBONATES and want.alkalinity <= 0
        why = (
            Why("ph_low", {"ph": ph, "aim": limits.ph_aim})
            if soda
            else Why("alkalinity_low", {"ta": ta, "aim": want.aim})
        )
        key = "ph_up" if soda else "alkalinity_up" if product.main in BICARBONATES else "alkalinity_and_ph_up"
        return [Dose(key, "base", why, product, amount, cautions=cautions)]  # type: ignore[arg-type]
    why = Why("ph_high", {"ph": ph, "aim": limits.ph_aim})
    if want.alkalinity < 0 and want.ph >= 0:
        why = Why("alkalinity_high", {"ta": ta, "aim": want.aim})
    key = "alkalinity_down" if why.code == "alkalinity_high" else "ph_down"
    if amount <= limits.acid_whole:
        return [Dose(key, "acid", why, product, amount, cautions=cautions)]  # type: ignore[arg-type]
    half = Dose(key, "acid", why, product, amount / 2, cautions=(*cautions, "half_dose"))  # type: ignore[arg-type]
    return [half, replace(half, key=f"{key}_second")]

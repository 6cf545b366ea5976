"""Alkalinity and pH: which way they should go, and the cheapest arrows of the kit that bring them there.

In the plane of alkalinity (mg/L CaCO3) and DIC (mmol/L) the water is a point, every product a constant arrow, and air
an arrow that only takes DIC away. One arrow, or two, reach an aim; the cheapest that needs no negative dose is taken.
"""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace
from itertools import combinations

import numpy as np
from numpy.typing import NDArray

from dosing.arrays import Array
from dosing.arrows import ACIDS, ALKALIES, CARBONATES, effect
from dosing.codes import AskCode
from dosing.ledger import Trend
from dosing.limits import Limits
from dosing.portions import AIR, Arrow, Balance, Mix, Wanted, Way, portions
from dosing.products import Kit
from dosing.readings import Interval
from dosing.region import Region

_PARTS = 20
"""Points on either side of a most likely value."""
_CARBONATE_RISK = 2.0
"""Added to the cost of soda ash where alkalinity is to rise: it overshoots pH in weakly buffered water."""
_COLD = 30.0
"""degC: colder water is not yet at the temperature that it will be bathed in."""


def wanted(
    water: Mapping[str, Interval], region: Region, trend: Trend, aim: float, limits: Limits, *, hardness_known: bool
) -> Wanted:
    """Judge alkalinity and pH: wanted where most of what the reading allows, and the most likely water, is outside.

    Where both are fine, the saturation index may still ask for one of them.
    """
    ph, ta = (part.ravel() for part in np.meshgrid(_evenly(water["ph"]), _evenly(water["ta"])))
    ph, ta = np.append(ph, water["ph"].likely), np.append(ta, water["ta"].likely)
    low_ta, high_ta = limits.alkalinity_fine
    bouncing, climbing = trend == "bouncing", trend == "climbing"
    low = (ta < low_ta) | ((ta < limits.alkalinity_low_if_ph_low) & ((ph < limits.ph_with_alkalinity_low) | bouncing))
    high = (ta > limits.alkalinity_high) | ((ta > high_ta) & ((ph > limits.ph_with_alkalinity_high) | climbing))
    alkalinity: Way = 1 if _sure(low) else -1 if _sure(high) else 0
    acid, base = _sure(ph < limits.ph_fine[0]), _sure(ph > limits.ph_fine[1])
    if alkalinity == 0 and not acid and not base:
        return _by_index(region, aim, limits, hardness_known=hardness_known)
    return Wanted(alkalinity, 1 if acid else -1 if base else 0, aim)


def _evenly(interval: Interval) -> Array:
    """What a reading allows, each as likely as the other: an eye errs up as often as down, so half lies either side."""
    parts = (np.arange(_PARTS) + 0.5) / _PARTS
    below = interval.low + (interval.likely - interval.low) * parts
    return np.concatenate([below, interval.likely + (interval.high - interval.likely) * parts])


def _sure(where: NDArray[np.bool_]) -> bool:
    return bool(where[-1]) and float(np.mean(where[:-1])) > 0.5 + 1e-9


def _by_index(region: Region, aim: float, limits: Limits, *, hardness_known: bool) -> Wanted:
    """Water that scales or corrodes although each reading is fine: pH goes to its aim first, hardness follows.

    Hard water counts by its most likely index, for a water change would be next; else every corner has to lie outside.
    Alkalinity in its range stays: raised, it would make pH climb.
    """
    ph = float(region.ph[0])
    side = index_side(region, limits)
    hard = float(region.hardness[0]) > limits.hardness_fine[1]
    index = float(region.saturation_index[0])
    if hard and ph > limits.scaling_ph and index > limits.saturation_fine[1]:
        return Wanted(0, -1, aim)
    if side > 0 and hardness_known and ph > limits.ph_aim:
        return Wanted(0, -1, aim, index)
    soft = float(region.hardness[0]) < limits.hardness_fine[0]
    if side < 0 and hardness_known and not soft and ph < limits.ph_aim:
        return Wanted(0, 1, aim, index)
    return Wanted(0, 0, aim)


def index_side(region: Region, limits: Limits) -> Way:
    """Whether every water of the region lies below (-1) or above (1) the fine saturation index when it is warm."""
    index = (region.warmed(limits.bathing_temperature) if region.temperature[0] < _COLD else region).saturation_index
    low, high = limits.saturation_fine
    return -1 if float(index.max()) < low else 1 if float(index.min()) > high else 0


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
        return replace(portions(region, ((arrow, need_ta / arrow.alkalinity),), want, limits), asks=asks)
    return portions(region, min(plans, key=lambda plan: plan[0])[1], want, limits)


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


def _ph_up(region: Region, want: Wanted, kit: Kit, limits: Limits, *, air_first: bool) -> Balance:
    """pH up: air where alkalinity is at its aim or above (or the water is new), soda ash where it may rise with pH."""
    best = region.likely
    sodas = [arrow for arrow in arrows(kit) if arrow.product is not None and arrow.product.main in CARBONATES]
    alkalinity = float(best.alkalinity[0])
    if air_first or want.index is not None or not sodas or alkalinity >= want.aim:
        aired = portions(region, ((AIR, 1.0),), want, limits)
        return aired if aired.doses or sodas else replace(aired, asks=("product_ph_up",))
    soda = min(sodas, key=lambda arrow: arrow.cost_unit)
    product = soda.product
    assert product is not None
    amount = best.amount_to_ph(effect(product.substances), limits.ph_aim)
    if alkalinity + amount * soda.alkalinity > limits.alkalinity_fine[1]:
        return portions(region, ((AIR, 1.0),), want, limits)
    return portions(region, ((soda, amount),), want, limits)


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
        if both.doses:
            return both
    return portions(region, ((acid, amount),), want, limits)


def _lower(region: Region, want: Wanted, kit: Kit, limits: Limits) -> Balance:
    """Alkalinity down by acid and air in turns: acid only as far as pH allows, air before acid where pH is low."""
    if want.ph > 0:
        return portions(region, ((AIR, 1.0),), want, limits)
    acid = _acid(kit)
    if acid is None or acid.product is None:
        return Balance(after=region, asks=("product_acid",))
    best = region.likely
    whole = max(0.0, (want.aim - float(best.alkalinity[0])) / acid.alkalinity)
    floor = limits.ph_aim if want.ph < 0 else limits.alkalinity_acid_to
    room = best.amount_to_ph(effect(acid.product.substances), floor)
    turns: Mix = ((acid, whole), (AIR, 1.0)) if room < whole else ((acid, whole),)
    return portions(region, turns, want, limits, acid_most=room)

"""Changing water: the only way down for cyanurate, dissolved solids and hardness."""

from __future__ import annotations

from dataclasses import dataclass

from dosing.known import Known
from dosing.ledger import Ledger
from dosing.limits import Limits
from dosing.readings import PHYSICAL, Interval
from dosing.region import Region
from dosing.steps import Assumed, Step, Why

_MOST = 0.8
"""A greater share than this is a whole refill: nobody stops a drain at four fifths."""
_LEAST = 0.1
"""A smaller share is not worth the hose."""
# What fill water brings where nobody tested it: wide, because taps are (common practice).
_FILL = {"ph": Interval(7.0, 8.2, 7.6), "ta": Interval(40.0, 220.0, 110.0), "ch": Interval(20.0, 320.0, 130.0),
         "cya": Interval(0.0, 0.0), "borate": Interval(0.0, 0.0), "tds": Interval(100.0, 600.0, 300.0)}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Change:
    """A water change as a step, the share of the tub, and the fill water that was assumed for it."""

    step: Step
    share: float
    fill: dict[str, Interval]
    assumed: tuple[Assumed, ...]


def water_change(known: Known, region: Region, ledger: Ledger, volume: float, limits: Limits) -> Change | None:
    """The change that this water needs, if any: for cyanurate, for solids, or for hardness that scales."""
    fill, assumed = _fill(ledger)
    wanted = [_cyanurate(known, limits), _solids(known, ledger, limits), _hardness(known, region, fill, limits)]
    share, why = max((want for want in wanted if want is not None), key=lambda want: want[0], default=(0.0, None))
    if why is None or share < _LEAST:
        return None
    share = 1.0 if share > _MOST else share
    litres = float(round(share * volume / 10.0) * 10.0) if share < 1.0 else float(round(volume))
    why = Why(why.code, {**why.numbers, "percent": round(100 * share)})
    step = Step("drain", "drain", why, jets="off", litres=litres, wait_minutes=60,
                cautions=("nobody_in_water", "drain_power_off", "drain_local_rules"))  # fmt: skip
    return Change(step, share, fill, assumed)


def _fill(ledger: Ledger) -> tuple[dict[str, Interval], tuple[Assumed, ...]]:
    source = ledger.source.intervals(ledger.scale) if ledger.source else {}
    fill = {key: source.get(key, usual).clipped(*PHYSICAL[key]) for key, usual in _FILL.items()}
    told = [key for key in ("ph", "ta", "ch") if key not in source]
    return fill, tuple(Assumed(f"fill_{key}", fill[key].low, fill[key].likely, fill[key].high) for key in told)


def _cyanurate(known: Known, limits: Limits) -> tuple[float, Why] | None:
    booked = known.water["cya"]
    if booked.likely < limits.cyanurate_change:
        return None
    goal = 0.0 if limits.cyanurate_barred else limits.cyanurate_warn * 0.5
    return 1.0 - goal / booked.likely, Why(
        "cyanurate_high", {"cya": round(booked.likely, 1), "limit": limits.cyanurate_change}
    )


def _solids(known: Known, ledger: Ledger, limits: Limits) -> tuple[float, Why] | None:
    tds = known.read.get("tds")
    source = ledger.source.intervals(ledger.scale).get("tds") if ledger.source else None
    if tds is None or source is None or tds.likely - source.likely <= limits.solids_over_start:
        return None
    return 1.0, Why("solids_high", {"tds": round(tds.likely), "start": round(source.likely)})


def _hardness(known: Known, region: Region, fill: dict[str, Interval], limits: Limits) -> tuple[float, Why] | None:
    """Only once pH and alkalinity are right, and only if the fill water is softer."""
    ch = known.read.get("ch")
    right = known.believes("ph", "ta") and limits.ph_fine[0] <= float(region.ph[0]) <= limits.scaling_ph
    if (
        ch is None
        or not right
        or ch.likely <= limits.hardness_fine[1]
        or known.read["ta"].likely > limits.alkalinity_fine[1]
    ):
        return None
    index = float(region.saturation_index[0])
    if index <= limits.saturation_fine[1] or fill["ch"].likely >= 0.8 * ch.likely:
        return None
    share = (
        (ch.likely - limits.hardness_aim) / (ch.likely - fill["ch"].likely)
        if fill["ch"].likely < limits.hardness_aim
        else 0.5
    )
    return min(0.5, share), Why("hardness_high", {"ch": round(ch.likely), "saturation_index": round(index, 2)})

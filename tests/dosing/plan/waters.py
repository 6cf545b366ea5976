"""Waters for the tests of the planner: readings drawn at random, and plans carried out on every corner of a reading."""

from __future__ import annotations

from itertools import product as every

import numpy as np
from hypothesis import strategies as st

import dosing
from dosing import DEFAULT_KIT, DEFAULT_SCALE, Plan, Reading, Said, Water
from dosing.readings import PHYSICAL

PH = st.one_of(st.sampled_from(DEFAULT_SCALE.pads["ph"]), st.floats(6.3, 8.6).map(lambda x: round(x, 1)))
TA = st.one_of(st.sampled_from(DEFAULT_SCALE.pads["ta"]), st.integers(5, 300).map(float))
FC = st.one_of(st.sampled_from(DEFAULT_SCALE.pads["fc"]), st.floats(0, 9).map(lambda x: round(x, 1)))
CH = st.one_of(st.sampled_from(DEFAULT_SCALE.pads["ch"]), st.integers(5, 500).map(float))
CYA = st.one_of(st.just(0.0), st.sampled_from(DEFAULT_SCALE.pads["cya"][:3]))
METHOD = st.sampled_from(("strip", "drops", "meter"))
VOLUME = st.integers(600, 2500).map(float)


def reading_of(method: str = "strip", **values: float) -> Reading:
    return Reading({key: Said.value(value) for key, value in values.items()}, method)


@st.composite
def readings(draw: st.DrawFn, *, sanitizer: str = "fc") -> Reading:
    values = {sanitizer: draw(FC), "ph": draw(PH), "ta": draw(TA), "ch": draw(CH), "cya": draw(CYA)}
    return reading_of(draw(METHOD), **values)


def corners(reading: Reading) -> Water:
    """Every corner of a reading, open ends closed, as one array of waters."""
    keys = ("ph", "ta", "ch", "cya", "fc")
    found = {key: interval.clipped(*PHYSICAL[key]) for key, interval in reading.intervals(DEFAULT_SCALE).items()}
    ends = np.array(list(every(*((found[key].low, found[key].high) for key in keys)))).T
    at = dict(zip(keys, ends, strict=True))
    cya = np.minimum(at["cya"], 2.2 * at["ta"])
    return Water(at["ph"], at["ta"], at["ch"], cya, free_chlorine=at["fc"], tds=600.0)


def carried_out(plan: Plan, volume: float, water: Water) -> list[Water]:
    """The waters after each step that adds something, closed to the air."""
    out = []
    for step in plan.steps:
        if step.action == "add":
            for name, grams in step.substances.items():
                water = dosing.add(water, name, grams / volume * 1000.0)
            out.append(water)
    return out


def used_up(water: Water, before: Water) -> Water:
    """The water once the chlorine that was added is used up again."""
    return dosing.spend(water, np.maximum(water.free_chlorine - before.free_chlorine, 0.0))


def excesses(water: Water) -> np.ndarray:
    """How far each corner lies beyond pH 7.0 to 8.0, alkalinity 30 to 180, chlorine 10 and saturation index +0.7."""
    index = dosing.speciate(water).saturation_index
    beyond = [7.0 - water.ph, water.ph - 8.0, 30.0 - water.alkalinity, water.alkalinity - 180.0]
    beyond += [water.free_chlorine - 10.0, index - 0.7]
    return np.maximum(np.array([np.broadcast_to(part, np.shape(water.ph)) for part in beyond]), 0.0)


def total_grams(plan: Plan, product: str) -> float:
    return sum(step.grams or 0.0 for step in plan.steps if step.product == product)


__all__ = [
    "DEFAULT_KIT",
    "METHOD",
    "VOLUME",
    "carried_out",
    "corners",
    "excesses",
    "reading_of",
    "readings",
    "total_grams",
    "used_up",
]

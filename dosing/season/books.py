"""What has gathered in a water by the books, and whether its chlorine still works at the level it reads."""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

from dosing.active import hocl_at_worst
from dosing.season.one import One
from dosing.season.timeline import KEPT
from dosing.season.tub import Estimate, gaussian

FindingCode = Literal[
    "active_chlorine_low",  # fc, cya, aim: hold free chlorine at `aim`, unstabilised chlorine from now on
    "cyanurate_high",  # cya, limit: change water
    "cyanurate_rising",  # cya, limit, days: the rest of this fill without stabilised chlorine
    "volume_contradicted",  # factor, litres: doses act as if the tub held so many times the stated volume
    "strip_off",  # offset: this bottle's pH pad reads so much too high
]
FINDING_CODES: tuple[str, ...] = get_args(FindingCode)


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that should be told, as a code with its numbers."""

    code: FindingCode
    numbers: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Books:
    """mg/L in the water (solids over the fill's), and what is gained a day.

    `active` is HOCl at the likely free chlorine by the unfavourable convention for the cyanurate constants, `wanted`
    what the least free chlorine gives at the most cyanurate that is fine (mg/L as Cl2); both 0 for bromine.
    """

    cya: Estimate
    solids: Estimate
    hardness: Estimate
    borate: Estimate
    per_day: Mapping[str, float]
    active: float
    wanted: float


def books(one: One, free_chlorine: float) -> Books:
    """What has gathered, with `free_chlorine` mg/L in the water."""
    held = dict(zip(KEPT, (float(each) for each in one.belief.held[0]), strict=True))
    root = dict(zip(KEPT, (math.sqrt(float(each)) for each in one.belief.unsure[0]), strict=True))
    cya, solids, hardness, borate = (gaussian(held[key], root[key], least=0.0) for key in KEPT)
    active = wanted = 0.0
    if one.tub.key == "fc":
        limits, celsius = one.tub.limits, one.tub.temperature
        active = hocl_at_worst(max(free_chlorine, 0.01), cya.likely, one.ph, celsius)
        wanted = hocl_at_worst(limits.chlorine_fine[0], limits.cyanurate_warn, one.ph, celsius)
    return Books(cya, solids, hardness, borate, one.gains, round(active, 4), round(wanted, 4))


def cyanurate_findings(one: One, booked: Books, free_chlorine: float) -> list[Finding]:
    """What cyanurate asks for: more chlorine, another chlorine, or other water."""
    limits = one.tub.limits
    cya, gain = booked.cya.likely, booked.per_day["cya"]
    out: list[Finding] = []
    if one.tub.key != "fc":
        return out
    if cya >= limits.cyanurate_change:
        out.append(Finding("cyanurate_high", {"cya": round(cya), "limit": limits.cyanurate_change}))
    elif cya > limits.cyanurate_warn or (gain > 0 and (limits.cyanurate_warn - cya) / gain < 7.0):
        days = round(max(0.0, limits.cyanurate_change - cya) / gain) if gain > 0 else 0
        out.append(Finding("cyanurate_rising", {"cya": round(cya), "limit": limits.cyanurate_warn, "days": days}))
    if cya > limits.cyanurate_warn and booked.active < booked.wanted:
        aim = min(limits.chlorine_bathing[1], limits.chlorine_fine[0] * cya / limits.cyanurate_warn)
        out.append(
            Finding("active_chlorine_low", {"fc": round(free_chlorine, 1), "cya": round(cya), "aim": round(aim, 1)})
        )
    return out

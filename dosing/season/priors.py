"""What is believed of a tub before its journal says anything. Medians, and the spread of the logarithm.

Loss at rest: 15 to 50 % of free chlorine a day in hot covered water, and 2 to 9 g of chlorine for an hour of one
bather; published figures differ that much, so both are wide. Air: what `Limits.air_rate` says (from memory). The rest
is common practice.
"""

from __future__ import annotations

import math
from typing import NamedTuple

from dosing.readings import Interval, Reading
from dosing.season.tub import Tub


class Prior(NamedTuple):
    """The median, and the standard deviation of the natural logarithm."""

    median: float
    spread: float


LOSS = Prior(0.35, 0.5)
"""Rate a day; 0.35 leaves 70 % after a day."""
DEMAND = Prior(4.3, 0.5)
"""g of Cl2 for an hour of one bather: the middle of 2 to 9 as a product."""
AIR = Prior(0.65, 0.6)
"""Rate an hour of jets at which excess carbon dioxide leaves."""
REST = Prior(0.12, 0.6)
"""The same a day, covered, filter cycles included."""
DEBT = 0.1
"""Rate a day at which what bathers left goes by filter and air where no sanitizer meets it."""
WARMER = 1.07
"""Factor on the loss for a degree more: it doubles in ten (common practice)."""
UNCOVERED = 2.0
"""Factor on the loss without a cover: light and air (common practice)."""
PURIFIER = {"none": 1.0, "ozone": 1.3, "uv": 1.2, "both": 1.4}
"""Factor on the loss: ozone and UV destroy free chlorine too (common practice)."""
BROMINE = 0.8
"""Factor on the loss: bromine is less volatile (common practice)."""
OFFSET = 0.12
"""Standard deviation of what the pH pad of a bottle reads off."""
ALKALINITY_PAD = 0.08
"""Standard deviation of what its alkalinity pad reads off, as a share."""
DOSE = 0.17
"""Standard deviation of the logarithm of a dose, poured with a spoon."""
EVAPORATION = 0.003
"""Share of the water a day, covered."""
SPLASH = 2.0
"""Litres that a bather carries out."""
UNTOLD = 0.1
"""Share of soaks of which nobody tells."""

# What fill water brings where nobody tested it: wide, because taps are.
_TAP = {"ph": Interval(7.0, 8.2, 7.6), "ta": Interval(30.0, 220.0, 100.0), "ch": Interval(10.0, 320.0, 120.0),
        "tds": Interval(100.0, 600.0, 300.0)}  # fmt: skip


def loss_of(tub: Tub) -> Prior:
    """The loss at rest of such a tub."""
    factor = WARMER ** (tub.temperature - 38.0) * PURIFIER[tub.purifier]
    factor *= (1.0 if tub.covered else UNCOVERED) * (BROMINE if tub.sanitizer == "bromine" else 1.0)
    return Prior(LOSS.median * factor, LOSS.spread)


def source_of(tub: Tub, reading: Reading | None = None) -> dict[str, Interval]:
    """What the tap brings: as it was tested, or what taps bring."""
    told = reading or tub.source
    found = told.intervals(tub.scale) if told is not None else {}
    closed = {key: it for key, it in found.items() if math.isfinite(it.high)}
    return {**_TAP, **closed}

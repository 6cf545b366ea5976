"""What a tub does, as it was learned."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Literal

import numpy as np

from dosing.season.drift import CREEP, JETS, PAD, RESTS, Balance
from dosing.season.one import One
from dosing.season.priors import loss_of
from dosing.season.tub import TENTH, Estimate, gaussian
from dosing.substances import BR2, CL2

Sure = Literal["guess", "learning", "known"]
_LEARNING, _KNOWN = 0.85, 0.5
"""Width of the loss's interval as a share of the prior's."""


@dataclass(frozen=True, slots=True)
class Learned:
    """What a tub does.

    `loss` is the fraction of sanitizer lost in a day at rest, `demand` g of Cl2 that one bather uses in an hour; `air`
    and `rest` the shares of the excess carbon dioxide lost in an hour of jets and in a day without; `alkalinity` mg/L
    that it moves by itself in a week, chlorine's acid apart; `ph_offset` what this bottle's pH pad reads too high.
    """

    loss: Estimate
    demand: Estimate
    air: Estimate
    rest: Estimate
    alkalinity: Estimate
    ph_offset: Estimate
    soaks_a_week: float
    bather_hours_a_week: float
    readings: int
    """Of sanitizer, that this rests on."""
    sure: Sure


def learned(one: One) -> Learned:
    """As an interval each."""
    level, balance = one.belief.level, one.belief.balance
    grams = one.tub.volume / 1000.0 / (BR2 / CL2 if one.tub.key == "br" else 1.0)
    rates = [float(level.rates(share)[0]) for share in (0.1, 0.5, 0.9)]
    creep = _of(balance, CREEP)
    return Learned(
        loss=Estimate(*(1.0 - math.exp(-rate) for rate in rates)),
        demand=Estimate(*(grams * float(level.demands(share)[0]) for share in (0.1, 0.5, 0.9))),
        air=_share(balance, JETS),
        rest=_share(balance, RESTS),
        alkalinity=Estimate(7.0 * creep.low, 7.0 * creep.likely, 7.0 * creep.high),
        ph_offset=_of(balance, PAD),
        soaks_a_week=round(7.0 * float(one.habits.soaks[0]), 2),
        bather_hours_a_week=round(7.0 * float(one.habits.bather_hours_a_day[0]), 2),
        readings=int(np.sum(~np.isnan(one.line.sanitizer_low))),
        sure=_sure(math.log(rates[2] / rates[0]) / (2.0 * TENTH * loss_of(one.tub).spread)),
    )


def _sure(width: float) -> Sure:
    return "guess" if width > _LEARNING else "learning" if width > _KNOWN else "known"


def _of(balance: Balance, which: int) -> Estimate:
    return gaussian(float(balance.mean[0, which]), math.sqrt(float(balance.spread[0, which, which])))


def _share(balance: Balance, which: int) -> Estimate:
    logs = _of(balance, which)
    return Estimate(*(1.0 - math.exp(-math.exp(part)) for part in (logs.low, logs.likely, logs.high)))

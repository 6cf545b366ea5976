"""All that is believed of many tubs at once: sanitizer, balance, and what stays in the water until it is changed."""

from __future__ import annotations

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from dosing.arrays import Array
from dosing.season import drift, loss
from dosing.season.drift import Balance, Stretch
from dosing.season.loss import Level
from dosing.season.plane import Plane
from dosing.season.priors import DOSE, EVAPORATION, loss_of
from dosing.season.timeline import KEPT, Timeline
from dosing.season.tub import Tub
from dosing.substances import BR2, CL2

_TAP_SPREAD = 0.25
"""Standard deviation of the tap's hardness, as a share."""


@dataclass(frozen=True, slots=True)
class Belief:
    """Of many tubs at a time. `held` is what stays, mg/L of each of KEPT (solids over what the fill held), (tubs, 4);
    `unsure` its variance; `oxidant` mg/L of sanitizer when it was last looked at, (tubs,).
    """

    level: Level
    balance: Balance
    held: Array
    unsure: Array
    oxidant: Array

    @classmethod
    def before(cls, tubs: Sequence[Tub], line: Timeline) -> Belief:
        """Before anything of these journals has happened."""
        bromine = np.array([tub.sanitizer == "bromine" for tub in tubs])
        volume = np.array([tub.volume for tub in tubs])
        level = loss.before([loss_of(tub) for tub in tubs], volume, np.where(bromine, BR2 / CL2, 1.0))
        plane = Plane.at(np.array([tub.temperature for tub in tubs]), bromine)
        balance = drift.before(plane, np.where(bromine, BR2, CL2), EVAPORATION * line.home_ta)
        return cls(level, balance, line.tap, (_TAP_SPREAD * line.tap) ** 2, level.likely())

    @classmethod
    def of(cls, tubs: Sequence[Tub], line: Timeline) -> Belief:
        """Learned from these journals; what a single one taught is remembered, and the next look begins there."""
        keys = line.keys(_start(tubs[0])) if len(tubs) == 1 else []
        begin = next((at for at in range(line.events - 1, 0, -1) if keys and keys[at - 1] in _taught), 0)
        belief = _taught[keys[begin - 1]] if begin else cls.before(tubs, line)
        for at in range(begin, line.events):
            belief = belief.lived(line, at)
            if keys and at == line.events - 2:
                _remember(keys[at], belief)
        return belief

    def lived(self, line: Timeline, at: int) -> Belief:
        """After one event of each journal and the time before it."""

        def now(name: str) -> Array:
            column: Array = getattr(line, name)[:, at]
            return column

        level = self.level.after(now("days"))
        if now("bather_hours").any():
            level = level.bathed(now("bather_hours"))
        if now("fresh").any():
            level = level.renewed(now("fresh"))
        met = level.likely()
        if now("oxidant").any() or now("oxidiser").any():
            level = level.dosed(now("oxidant"), now("oxidiser"))
        left = level.likely()
        held, unsure = self._kept(line, at)
        balance = self.balance.after(
            Stretch(
                now("days"), now("jets"), (self.oxidant, met, left), now("alkalinity"), now("dic"),
                held[:, KEPT.index("cya")], held[:, KEPT.index("borate")], now("splash"), line.home_ta,
            )
        )  # fmt: skip
        balance = balance.filled(now("fresh"), now("source_ph"), now("source_ta"), now("source_spread"))
        level = level.read(now("sanitizer_low"), now("sanitizer_high"), now("sanitizer_blur"))
        balance = balance.opened(now("bottle"))
        balance = balance.read_ph(now("ph_low"), now("ph_high"), now("ph_blur"), now("strip"))
        balance = balance.read_alkalinity(now("ta_low"), now("ta_high"), now("ta_blur"), now("strip"), left)
        return Belief(level, balance, held, unsure, left)

    def _kept(self, line: Timeline, at: int) -> tuple[Array, Array]:
        """What goes in stays, but for what is splashed out or changed; what evaporates leaves its minerals, and the
        top-up brings the tap's.
        """
        out = np.minimum(line.fresh[:, at] + line.splash[:, at], 1.0)[:, None]
        added = line.kept[:, at]
        held = self.held + EVAPORATION * line.thickens * line.days[:, at, None]
        unsure = self.unsure * (1.0 - out) ** 2 + (out * _TAP_SPREAD * line.tap) ** 2 + (DOSE * added) ** 2
        return held + (line.tap - held) * out + added, unsure

    def one(self, at: int) -> Belief:
        """Of one tub."""
        only = slice(at, at + 1)
        return Belief(self.level.one(at), self.balance.one(at), self.held[only], self.unsure[only], self.oxidant[only])


_REMEMBERED = 512
_taught: OrderedDict[bytes, Belief] = OrderedDict()


def _start(tub: Tub) -> bytes:
    return repr((tub.volume, tub.sanitizer, tub.temperature, loss_of(tub))).encode()


def _remember(key: bytes, belief: Belief) -> None:
    _taught[key] = belief
    _taught.move_to_end(key)
    if len(_taught) > _REMEMBERED:
        _taught.popitem(last=False)

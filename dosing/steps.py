"""The plan: what to do, in order, up to the next reading, and why. Codes and numbers; the words are the caller's."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from typing import Any, Literal

from dosing.codes import Action, AskCode, BathingCode, CautionCode, DoubtCode, EscalateCode, Status, WhyCode

PREDICTED_KEYS = ("ph", "ta", "fc", "br", "ch", "cya", "saturation_index")


@dataclass(frozen=True, slots=True)
class Why:
    """A reason as a code and the numbers that belong to it (mg/L, pH, hours, percent: as the code says)."""

    code: WhyCode
    numbers: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Measured:
    """So many level measures of that name."""

    count: float
    name: str


@dataclass(frozen=True, slots=True)
class Step:
    """One thing to do.

    `grams` is grams of product, `minutes` how long the jets run, `litres` how much water to change;
    `wait_minutes` runs from the moment this step is done to the next one.
    """

    key: str
    action: Action
    why: Why
    product: str | None = None
    grams: float | None = None
    substances: Mapping[str, float] = field(default_factory=dict)
    substance: str | None = None
    measure: tuple[Measured, ...] = ()
    jets: Literal["on", "off"] = "on"
    wait_minutes: int = 0
    litres: float | None = None
    minutes: int | None = None
    cautions: tuple[CautionCode, ...] = ()


@dataclass(frozen=True, slots=True)
class Later:
    """Roughly what follows after the next reading: total grams of product, in so many visits over so many days."""

    product: str
    substance: str
    grams: float
    visits: int
    days: int


@dataclass(frozen=True, slots=True)
class Spread:
    """The low end, the most likely value and the high end over the region of the reading."""

    low: float
    mid: float
    high: float


@dataclass(frozen=True, slots=True)
class Bathing:
    """Whether readings allow bathing now; `from_minutes` is when the steps are through and the retest may be taken."""

    allowed: bool
    from_minutes: int | None = None
    reasons: tuple[BathingCode, ...] = ()


@dataclass(frozen=True, slots=True)
class Escalate:
    """Whether a person of the dealer's staff is needed, and in which class of red flag."""

    needed: bool = False
    kind: Literal["danger", "water"] | None = None
    reasons: tuple[EscalateCode, ...] = ()


@dataclass(frozen=True, slots=True)
class Doubt:
    """A reading that should not be believed, and why."""

    code: DoubtCode
    reading: str
    numbers: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Assumed:
    """A value that was not given and what was taken for it."""

    key: str
    low: float
    mid: float
    high: float


@dataclass(frozen=True, slots=True)
class Plan:
    """What to do with this water up to the next reading."""

    status: Status
    steps: tuple[Step, ...] = ()
    later: tuple[Later, ...] = ()
    predicted: Mapping[str, Spread] = field(default_factory=dict)
    water: Mapping[str, Spread] = field(default_factory=dict)
    bathing: Bathing = Bathing(allowed=False)
    escalate: Escalate = Escalate()
    doubts: tuple[Doubt, ...] = ()
    asks: tuple[AskCode, ...] = ()
    assumed: tuple[Assumed, ...] = ()


def plan_json(plan: Plan) -> dict[str, Any]:
    """The plan as plain JSON values, every number finite."""
    bathing, escalate = plan.bathing, plan.escalate
    return {
        "status": plan.status,
        "steps": [_step(step) for step in plan.steps],
        "later": [asdict(rest) for rest in plan.later],
        "predicted": _spreads(plan.predicted),
        "water": _spreads(plan.water),
        "bathing": {"allowed": bathing.allowed, "from_minutes": bathing.from_minutes, "reasons": list(bathing.reasons)},
        "escalate": {"needed": escalate.needed, "class": escalate.kind, "reasons": list(escalate.reasons)},
        "doubts": [{"reading": it.reading, "code": it.code, "numbers": dict(it.numbers)} for it in plan.doubts],
        "asks": list(plan.asks),
        "assumed": [asdict(it) for it in plan.assumed],
    }


def _spreads(spreads: Mapping[str, Spread]) -> dict[str, dict[str, float]]:
    return {key: asdict(it) for key, it in spreads.items()}


def _step(step: Step) -> dict[str, Any]:
    out: dict[str, Any] = {
        "key": step.key,
        "action": step.action,
        "product": step.product,
        "grams": step.grams,
        "substances": dict(step.substances),
        "substance": step.substance,
        "measure": [{"count": it.count, "name": it.name} for it in step.measure] or None,
        "jets": step.jets,
        "wait_minutes": step.wait_minutes,
        "why": {"code": step.why.code, "numbers": dict(step.why.numbers)},
        "cautions": list(step.cautions),
    }
    if step.litres is not None:
        out["litres"] = step.litres
    if step.minutes is not None:
        out["minutes"] = step.minutes
    return out

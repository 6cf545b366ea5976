"""What a person proposes, dose by dose: the water after it, and what speaks against it.

`plan` says what a careful technician would do; `foresee` takes what one wants to do, keeps the waits between products,
and judges every dose by its label, by the rules for one step and by the bounds that no corner of the reading may leave.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from dosing.arrows import ACIDS, ALKALIES, CHLORINES, OXIDISER, STABILISED, Effect, effect
from dosing.caps import rule_cap
from dosing.codes import CautionCode, ObjectionCode
from dosing.history import Past
from dosing.job import Job
from dosing.known import understand
from dosing.ledger import Ledger
from dosing.limits import Limits
from dosing.order import Dose, Kind, as_given
from dosing.planner import checked, finished, retest, settling
from dosing.products import DEFAULT_KIT, Kit, Product
from dosing.readings import DEFAULT_SCALE, Reading, Scale
from dosing.region import Region
from dosing.steps import Plan, Step, Why

FAR = 5.0
"""So many times the most of a step, or of sanitizer in the water, is a mistyped number (common practice)."""
_NOTHING = 1e-9
"""mg/L for a gram: less is none."""
_LEAST = 0.05
"""Of pH, and of the saturation index; a bound passed by less is not passed for anybody who reads a strip."""
_MOST = 1e5
"""Grams that a proposal is computed with at most: what becomes of the water is no question then."""


@dataclass(frozen=True, slots=True)
class Proposed:
    """One step as proposed: grams of a product, or minutes of jets with air. `why` is kept from a computed plan."""

    key: str
    product: str | None = None
    grams: float = 0.0
    minutes: int = 0
    why: Why = field(default_factory=lambda: Why("prescribed"))

    def __post_init__(self) -> None:
        if not (math.isfinite(self.grams) and self.grams >= 0 and self.minutes >= 0):
            raise ValueError("a proposal is a number of grams or minutes, 0 or more")


@dataclass(frozen=True, slots=True)
class Objection:
    """What speaks against a proposal. A grave one is not to be overruled; `step` is the key of the step it is about."""

    code: ObjectionCode
    grave: bool
    step: str | None = None
    product: str | None = None
    numbers: Mapping[str, float] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Proposal:
    """A proposal as a plan, with the water that is predicted, and the objections to it, the grave ones first."""

    plan: Plan
    objections: tuple[Objection, ...] = ()

    @property
    def grave(self) -> bool:
        """Whether it is not to be done as it stands."""
        return any(objection.grave for objection in self.objections)


def foresee(
    proposed: Sequence[Proposed],
    *,
    volume: float | None,
    sanitizer: Literal["chlorine", "bromine"] | None,
    reading: Reading | None,
    kit: Kit = DEFAULT_KIT,
    scale: Scale = DEFAULT_SCALE,
    history: Sequence[Past] = (),
    limits: Limits = Limits(),  # noqa: B008 - frozen
    at_once: bool = False,
) -> Proposal:
    """What becomes of the water, and what speaks against it.

    Parameters: `volume` in litres, `history` in any order. Without a reading of the last day nothing that rests on one
    is judged, and the plan holds no steps. `at_once`: the doses were named together, with no wait between them.

    Raises ValueError, in a sentence, for a volume that is no number, an unknown sanitizer, and a product that the kit
    lacks.
    """
    checked(volume, sanitizer)
    proposed = [replace(one, grams=min(one.grams, _MOST)) for one in proposed]
    missing = _missing(volume, sanitizer, reading, limits)
    litres = None if any(it.code == "volume_missing" for it in missing) else volume
    products = [_product(one, kit) for one in proposed]
    ledger = Ledger.of(history, volume, scale)
    known = understand(reading or Reading(), ledger, sanitizer=sanitizer, temperature=None, scale=scale, limits=limits)
    region = Region.of(known.water)
    job = Job(litres or 0.0, known, region, ledger, kit, limits, "test", reading or Reading())
    found = [*missing, *_of_products(proposed, products, job, at_once=at_once)]
    after = region
    if litres is not None:
        after = _after(job, proposed, products)
        found += _of_water(job, after)
    objections = tuple(sorted(found, key=lambda it: not it.grave))
    if missing or any(it.code == "strength_missing" for it in found):
        return Proposal(Plan("ask"), objections)
    doses = [_dose(one, product, job.volume) for one, product in zip(proposed, products, strict=True)]
    steps: list[Step] = [*settling(job, doses), *as_given(doses, job.volume, limits)]
    steps += [retest(Why("check_result"))] if steps else []
    return Proposal(replace(finished(job, steps, after, (), ()), status="plan", asks=()), objections)


def _missing(volume: float | None, sanitizer: str | None, reading: Reading | None, limits: Limits) -> list[Objection]:
    """What no dose can do without."""
    out: list[Objection] = []
    if volume is None or not limits.volume_min <= volume <= limits.volume_max:
        out.append(Objection("volume_missing", grave=True))
    if sanitizer is None:
        out.append(Objection("sanitizer_missing", grave=True))
    if reading is None or reading.hours_ago > limits.reading_hours:
        out.append(Objection("reading_missing", grave=True))
    return out


def _product(one: Proposed, kit: Kit) -> Product | None:
    """The product that is meant. Raises ValueError for one that the kit lacks."""
    if one.product is None:
        return None
    product = kit.named(one.product)
    if product is None:
        raise ValueError(f"{one.product!r} is not in the kit; it holds {', '.join(it.key for it in kit.products)}")
    return product


def _of_products(
    proposed: Sequence[Proposed], products: Sequence[Product | None], job: Job, *, at_once: bool
) -> list[Objection]:
    """Objections that follow from the products and their amounts alone."""
    out: list[Objection] = []
    for one, product in zip(proposed, products, strict=True):
        if product is not None:
            out += _of_dose(one, product, job)
    held = [product for product in products if product is not None]
    chlorines = {it.key for it in held if _kind(it) == "chlorine"}
    if len(chlorines) > 1:
        out.append(Objection("two_chlorines", grave=True))
    if at_once and chlorines and any(_kind(it) == "acid" for it in held):
        minutes = {"minutes": float(job.limits.wait_acid_chlorine)}
        out.append(Objection("acid_with_chlorine", grave=True, numbers=minutes))
    acids = sum(_kind(it) == "acid" for it in held)
    given = acids + job.ledger.acid_doses(24.0)
    if acids and given > job.limits.acid_steps_a_day:
        numbers = {"count": float(given), "most": float(job.limits.acid_steps_a_day)}
        out.append(Objection("acid_too_often", grave=False, numbers=numbers))
    return out


def _of_dose(one: Proposed, product: Product, job: Job) -> list[Objection]:
    limits = job.limits
    out: list[Objection] = []

    def object_to(code: ObjectionCode, most: float | None = None, *, grave: bool) -> None:
        numbers = {} if most is None else {"grams": round(one.grams, 1), "most": round(most, 1)}
        out.append(Objection(code, grave, one.key, product.key, numbers))

    if not product.substances:
        object_to("strength_missing", grave=True)
    if limits.cyanurate_barred and set(product.substances) & STABILISED:
        object_to("cyanurate_barred", grave=True)
    if not job.volume:
        return out
    thousands = job.volume / 1000.0
    label, rule = product.label_max_g_per_1000l, rule_cap(product, limits)
    slack = 1.0 + 1e-6
    if label is not None and one.grams > label * thousands * slack:
        object_to("beyond_label", label * thousands, grave=True)
    if one.grams > FAR * rule * thousands:
        object_to("far_beyond", rule * thousands, grave=True)
    elif one.grams > rule * thousands * slack:
        object_to("beyond_step", rule * thousands, grave=False)
    return out


def _total(products: Sequence[Product | None], proposed: Sequence[Proposed], litres: float) -> Effect:
    """What all doses do. A buffer's own salts hold pH where it is: as alkalinity of the water they would lift it."""
    total = Effect()
    for one, product in zip(proposed, products, strict=True):
        if product is not None and product.substances:
            more = 0.0 if product.buffer else product.alkalinity_per_g * one.grams
            total = total.plus(effect(product.split(one.grams)).with_alkalinity(more))
    return total.per(litres)


def _after(job: Job, proposed: Sequence[Proposed], products: Sequence[Product | None]) -> Region:
    """The region after every dose, and after the air that is asked for."""
    after = job.region.dosed(_total(products, proposed, job.volume), bromine=job.known.key == "br")
    minutes = sum(one.minutes for one in proposed)
    return after.aired(minutes / 60.0, job.limits) if minutes else after


def _of_water(job: Job, after: Region) -> list[Objection]:
    """Bounds that a corner of the reading leaves, farther than it was beyond them before."""
    limits, before, out = job.limits, job.region, list[Objection]()
    bromine = job.known.key == "br"
    bound = limits.bromine_bound if bromine else limits.chlorine_bound
    strong = after.bromine if bromine else after.chlorine
    strong_before = before.bromine if bromine else before.chlorine
    if float(strong[0]) > FAR * bound and float(strong[0]) > float(strong_before[0]) + _LEAST:
        numbers = {"high": round(float(strong[0])), "most": bound}
        out.append(Objection("sanitizer_far_out", grave=True, numbers=numbers))
    elif float(strong.max()) > max(bound, float(strong_before.max())) + _LEAST:
        numbers = {"high": round(float(strong.max()), 1), "most": bound}
        out.append(Objection("sanitizer_out", grave=False, numbers=numbers))
    if not job.known.believes("ph", "ta"):
        return out
    for code, now, was, (least, most) in (
        ("ph_out", after.ph, before.ph, limits.ph_bounds),
        ("alkalinity_out", after.alkalinity, before.alkalinity, limits.alkalinity_bounds),
    ):
        slack = _LEAST if code == "ph_out" else 1.0
        low, high = float(now.min()), float(now.max())
        if low < min(least, float(was.min())) - slack or high > max(most, float(was.max())) + slack:
            digits = 1 if code == "ph_out" else 0
            numbers = {"low": round(low, digits), "high": round(high, digits), "least": least, "most": most}
            out.append(Objection(code, grave=False, numbers=numbers))  # type: ignore[arg-type]
    index, index_was = float(after.saturation_index.max()), float(before.saturation_index.max())
    if index > max(limits.saturation_bound, index_was) + _LEAST:
        out.append(Objection("scales", False, numbers={"high": round(index, 1), "most": limits.saturation_bound}))
    return out


def _kind(product: Product) -> Kind:
    """What a product is in a plan's order."""
    held = set(product.substances)
    each = effect(product.substances)
    kinds: tuple[tuple[Kind, bool], ...] = (
        ("binder", product.binder or not held),
        ("buffer", product.buffer),
        ("chlorine", bool(held & CHLORINES) or bool(each.sanitizes)),
        ("oxidiser", OXIDISER in held),
        ("acid", product.main in ACIDS),
        ("calcium", each.hardness > 0),
        ("bank", product.main == "sodium_bromide"),
        ("base", bool(held & ALKALIES)),
    )
    return next((kind for kind, fits in kinds if fits), "buffer")


def _dose(one: Proposed, product: Product | None, litres: float) -> Dose:
    if product is None:
        return Dose(one.key, "air", one.why, minutes=one.minutes)
    cautions: tuple[CautionCode, ...] = ("adds_cyanurate",) if set(product.substances) & STABILISED else ()
    return Dose(one.key, _kind(product), one.why, product, one.grams * 1000.0 / litres, cautions=cautions)


def proposed_in(plan: Plan) -> tuple[Proposed, ...]:
    """The doses and the air of a computed plan, to be changed."""
    return tuple(
        Proposed(
            step.key, step.product, step.grams or 0.0, step.minutes or 0 if step.action == "aerate" else 0, step.why
        )
        for step in plan.steps
        if step.action in {"add", "aerate"}
    )


def converted(grams: float, one: Product, other: Product, *, bromine: bool = False) -> float | None:
    """Grams of another product that do the same: as much chlorine, acid, alkalinity or hardness; None where they do
    different things.
    """
    first, second = effect(one.substances), effect(other.substances)
    if _kind(one) != _kind(other):
        return None
    for name in ("as_bromine" if bromine else "chlorine", "hardness", "alkalinity", "oxygen"):
        done, wanted = getattr(second, name), getattr(first, name)
        if abs(wanted) > _NOTHING:
            return grams * wanted / done if wanted * done > 0 else None
    return None

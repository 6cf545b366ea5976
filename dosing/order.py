"""From doses to steps: the order, the waits, jets on or off, measures and cautions."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

from dosing.arrows import OXIDISER
from dosing.codes import CautionCode
from dosing.limits import Limits
from dosing.products import Product
from dosing.readings import MOST_GRAMS
from dosing.steps import Measured, Step, Why

Kind = Literal["binder", "base", "acid", "air", "bank", "calcium", "chlorine", "oxidiser", "buffer"]
ORDER: tuple[Kind, ...] = ("binder", "base", "acid", "air", "calcium", "bank", "chlorine", "oxidiser", "buffer")
"""Metals, alkalinity, pH, hardness, sanitizer, buffer (common practice)."""

_OXIDISERS = ("chlorine", "oxidiser")
_CAUTIONS: Mapping[Kind, tuple[CautionCode, ...]] = {
    "binder": ("source_water_test",),
    "base": ("powder_into_water",),
    "acid": ("gloves_and_goggles", "powder_into_water", "acid_air_controls_closed", "never_with_chlorine"),
    "air": (),
    "bank": ("not_in_feeder",),
    "calcium": ("gloves_and_goggles", "powder_into_water", "clouds_if_ph_high"),
    "chlorine": ("gloves_and_goggles", "powder_into_water", "never_with_acid", "never_two_chlorines"),
    "oxidiser": ("gloves_and_goggles", "powder_into_water", "never_with_acid", "mps_reads_as_combined"),
    "buffer": ("buffer_last_jets_off",),
}


@dataclass(frozen=True, slots=True)
class Dose:
    """One product at `rate` grams per 1,000 L (or jets with air for `minutes`), before it is made a step."""

    key: str
    kind: Kind
    why: Why
    product: Product | None = None
    rate: float = 0.0
    minutes: int = 0
    cautions: tuple[CautionCode, ...] = field(default=())


def whole_grams(grams: float) -> float:
    """Grams as a kitchen scale shows them, never rounded up past what was computed."""
    size = 0.1 if grams < 10 else 0.5 if grams < 100 else 1.0
    return round(math.floor(grams / size + 1e-9) * size, 1)


def in_order(doses: Sequence[Dose], volume: float, limits: Limits) -> list[Step]:
    """The doses as steps in their order, each with the wait that the next one (or the reading after it) needs."""
    return as_given(sorted(doses, key=lambda dose: ORDER.index(dose.kind)), volume, limits)


def as_given(doses: Sequence[Dose], volume: float, limits: Limits) -> list[Step]:
    """The doses as steps in the order given, each with its wait."""
    steps = [_step(dose, volume, limits) for dose in doses]
    kept = [(dose, step) for dose, step in zip(doses, steps, strict=True) if step is not None]
    return _with_waits(kept, limits)


def maintenance_step(product: Product, grams: float, why: Why, limits: Limits) -> Step | None:
    """So many grams of a sanitizer by a tub's own routine, as a step with its wait; None where that is less than a
    scale shows. The grams stay as they are: they are so much of a measure. Raises ValueError for no amount.
    """
    if not 0 <= grams <= MOST_GRAMS:
        raise ValueError(f"a dose is a number of grams, 0 or more, up to {MOST_GRAMS:,.0f}; not {grams:g}")
    split = {name: round(part, 3) for name, part in product.split(grams).items()}
    kind: Kind = "oxidiser" if product.main == OXIDISER else "chlorine"
    steps = in_order([Dose("routine", kind, why, product, rate=grams)], 1000.0, limits)
    if not steps:
        return None
    measure = tuple(Measured(count, name) for count, name in product.measured(grams))
    return replace(steps[0], grams=round(grams, 2), substances=split, measure=measure)


def _step(dose: Dose, volume: float, limits: Limits) -> Step | None:
    if dose.product is None:
        return Step(dose.key, "aerate", dose.why, minutes=dose.minutes, cautions=("nobody_in_water", "cover_open"))
    grams = whole_grams(dose.rate * volume / 1000.0)
    if grams <= 0:
        return None
    product = dose.product
    cautions: list[CautionCode] = ["nobody_in_water", "cover_open", "one_product_at_a_time", *_CAUTIONS[dose.kind]]
    if product.predissolve:
        cautions.append("predissolve")
    elif dose.kind in _OXIDISERS and product.form == "granules":
        cautions.append("do_not_predissolve")
    cautions += ["not_baking_powder"] if product.main == "sodium_bicarbonate" else []
    return Step(
        key=dose.key,
        action="add",
        why=dose.why,
        product=product.key,
        grams=grams,
        substances={name: round(part, 3) for name, part in product.split(grams).items()},
        substance=product.main,
        measure=tuple(Measured(count, name) for count, name in product.measured(grams)),
        jets="off" if product.buffer else "on",
        minutes=None if product.buffer else _jets(dose.kind, limits),
        cautions=(*cautions, *dose.cautions, "label_rules"),
    )


def _jets(kind: Kind, limits: Limits) -> int:
    special = {"calcium": limits.jets_calcium, "chlorine": limits.jets_sanitizer, "oxidiser": limits.jets_oxidiser}
    return special.get(kind, limits.jets_balance)


def _with_waits(steps: Sequence[tuple[Dose, Step]], limits: Limits) -> list[Step]:
    out: list[Step] = []
    readable_in = 0
    for at, (dose, step) in enumerate(steps):
        after = [later.kind for later, _ in steps[at + 1 :]]
        wait = _before_next(dose, after[0], limits) if after else 0
        if dose.kind == "acid" and after and after[0] != "air" and any(k in _OXIDISERS for k in after):
            wait = max(wait, limits.wait_acid_chlorine)
        readable_in = max(readable_in, _before_reading(dose, limits))
        if not after:
            wait = max(readable_in, _before_next(dose, None, limits))
        readable_in -= wait
        out.append(replace(step, wait_minutes=wait))
    return out


def _before_next(dose: Dose, following: Kind | None, limits: Limits) -> int:
    if dose.kind == "air":
        return dose.minutes
    least = max(limits.wait_between, _jets(dose.kind, limits))
    if dose.kind in {"acid", *_OXIDISERS} and following in {"acid", *_OXIDISERS}:
        return max(least, limits.wait_acid_chlorine)
    return least


def _before_reading(dose: Dose, limits: Limits) -> int:
    return {
        "air": dose.minutes,
        "calcium": limits.reading_calcium,
        "chlorine": limits.reading_sanitizer,
        "bank": limits.reading_sanitizer,
        "oxidiser": limits.reading_sanitizer,
        "buffer": limits.reading_balance,
    }.get(dose.kind, limits.reading_balance)

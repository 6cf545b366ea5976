"""Calcium, and the products whose dose stands on their label."""

from __future__ import annotations

import math

from dosing.arrows import effect
from dosing.balance import index_side
from dosing.codes import AskCode
from dosing.job import Job
from dosing.order import Dose, whole_grams
from dosing.portions import Balance
from dosing.products import Product
from dosing.region import Region
from dosing.steps import Later, Why


def harden(
    job: Job, region: Region, balanced: Balance, doses: list[Dose], asks: list[AskCode], later: list[Later]
) -> Region:
    """Calcium up, once pH and alkalinity allow: no clouding."""
    known, limits = job.known, job.limits
    ch = known.read.get("ch") or (job.ledger.carry("ch") if job.purpose == "startup" else None)
    soft = ch is not None and ch.likely < limits.hardness_fine[0]
    corrodes = ch is not None and ch.likely < limits.hardness_aim and index_side(region, limits) < 0
    if ch is None or not (soft or corrodes) or not known.believes("ph", "ta"):
        if ch is None and job.purpose == "startup":
            asks.append("ch")
        return region
    product = next(
        (p for p in job.kit.products if effect(p.substances).hardness > 0 and not effect(p.substances).chlorine), None
    )
    if product is None:
        asks.append("product_calcium")
        return region
    each = effect(product.substances).hardness
    whole = (limits.hardness_aim - ch.likely) / each
    cap = min(limits.calcium_step / max(product.substances.values()), product.label_max_g_per_1000l or math.inf)
    ready = float(region.ph[0]) <= limits.calcium_ph_max and float(region.alkalinity[0]) <= limits.alkalinity_high
    rate = min(whole, cap) if ready and not balanced.rest else 0.0
    if rate > 0:
        share, region = region.safely(effect(product.split(rate)), job.region, limits)
        rate *= share
    if rate > 0:
        why = Why("hardness_low", {"ch": round(ch.likely, 1), "aim": limits.hardness_aim})
        if not soft:
            why = Why("saturation_low", {"saturation_index": round(float(job.region.saturation_index[0]), 2)})
        doses.append(
            Dose("hardness", "calcium", why, product, rate, cautions=() if rate >= whole else ("safe_part_only",))
        )
    if whole - rate > 0.02 * whole:
        later.append(expected_later(job, product, whole - rate))
    return region


def by_label(job: Job) -> list[Dose]:
    """Products whose dose is on the label: a metal binder before any oxidiser, a buffer last, both at start-up only."""
    if job.purpose != "startup":
        return []
    out = []
    for product in job.kit.products:
        rate = product.label_dose_g_per_1000l
        if rate is None or not (product.binder or product.buffer):
            continue
        if product.phosphate and job.known.water["ch"].likely > job.limits.phosphate_hardness_max:
            continue
        code = "metals_before_oxidiser" if product.binder else "buffer_last"
        kind = "binder" if product.binder else "buffer"
        out.append(Dose(product.key, kind, Why(code, {"grams_per_1000l": rate}), product, rate))  # type: ignore[arg-type]
    return out


def expected_later(job: Job, product: Product, rate: float) -> Later:
    """Rough totals: as many visits as the greatest step allows, three of acid a day."""
    limits = job.limits
    acid = effect(product.substances).alkalinity < 0
    a_step = (limits.acid_step if acid else limits.calcium_step) / max(product.substances.values())
    if effect(product.substances).alkalinity > 0:
        a_step = limits.bicarbonate_step
    steps = max(1, math.ceil(rate / min(a_step, product.label_max_g_per_1000l or a_step) - 1e-9))
    days = math.ceil(steps / limits.acid_steps_a_day) if acid else steps
    grams = whole_grams(rate * job.volume / 1000.0)
    return Later(product.key, product.main or product.key, grams, steps, days)

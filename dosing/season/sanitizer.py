"""The sanitizer of a tub's routine, and what a gram of it does."""

from __future__ import annotations

from dosing.arrows import BROMINES, CHLORINES, STABILISED, effect
from dosing.products import Product
from dosing.season.tub import Tub


def chosen(tub: Tub, cyanurate: float) -> Product | None:
    """The sanitizer of the routine: unstabilised where the kit has it, else dichlor while its cyanurate is allowed."""
    usable = [p for p in tub.kit.products if p.form != "tablet" and not p.buffer and not p.binder]
    own = [p for p in usable if p.main in BROMINES] if tub.sanitizer == "bromine" else []
    plain = [p for p in usable if p.main in CHLORINES and not set(p.substances) & STABILISED]
    stabilised = [p for p in usable if p.main in CHLORINES and set(p.substances) & STABILISED]
    if tub.limits.cyanurate_barred or cyanurate >= tub.limits.cyanurate_change:
        stabilised = []
    return next(iter([*own, *plain, *stabilised]), None)


def strength(tub: Tub, product: Product) -> float:
    """mg/L of sanitizer in this tub for a gram of product."""
    dose = effect(product.split(1.0)).per(tub.volume)
    return dose.as_bromine if tub.sanitizer == "bromine" else dose.chlorine


def acidity(tub: Tub, cyanurate: float) -> float:
    """mg/L of alkalinity that a mg/L of the routine's sanitizer takes for good once it is used up."""
    product = chosen(tub, cyanurate)
    if product is None:
        return 0.0
    each = effect(product.split(1.0)).per(tub.volume).alkalinity_spent / strength(tub, product)
    return -each

"""The most of one product that goes in at once: by the rule for what is in it, and by its label. g per 1,000 L."""

from __future__ import annotations

import math

from dosing.arrows import ACIDS, ALKALIES, OXIDISER, effect
from dosing.limits import Limits
from dosing.products import Product


def rule_cap(product: Product, limits: Limits) -> float:
    """Most grams per 1,000 L in one step by the rule for what the product holds; infinite where there is none."""
    most = {
        "sodium_bisulfate": limits.acid_step,
        "sodium_bicarbonate": limits.bicarbonate_step,
        "sodium_carbonate": limits.carbonate_step,
        "calcium_chloride": limits.calcium_step,
        "calcium_chloride_dihydrate": limits.calcium_step,
        "sodium_bromide": limits.bromide_step,
        OXIDISER: limits.monopersulfate_step,
    }
    caps = [most[name] / share for name, share in product.substances.items() if name in most]
    each = effect(product.substances)
    if product.main in ACIDS and product.main != "sodium_bisulfate":
        caps.append(limits.acid_step * effect({"sodium_bisulfate": 1.0}).alkalinity / each.alkalinity)
    if product.main in ALKALIES - {"sodium_bicarbonate", "sodium_carbonate"}:
        caps.append(limits.carbonate_step * effect({"sodium_carbonate": 1.0}).alkalinity / each.alkalinity)
    return min(caps, default=math.inf)


def step_cap(product: Product, limits: Limits) -> float:
    """Most grams per 1,000 L in one step: the rule or the label, whichever is less."""
    return min(rule_cap(product, limits), product.label_max_g_per_1000l or math.inf)

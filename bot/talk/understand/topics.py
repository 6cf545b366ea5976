"""Symptoms that start a guided talk, requests that are not granted (or not here), and questions with a short answer."""

from typing import Literal, get_args

from bot.talk.understand.rules import matches, rules
from bot.talk.understand.scan import scan

Symptom = Literal[
    "cloudy", "foam", "smell", "green", "brown", "slime", "flakes", "scale", "rash", "eyes", "no_heat", "breaker",
    "no_flow", "air_lock", "too_hot", "water_loss", "noise", "sanitizer_vanishes", "waterline", "error_code",
    "cover_lock", "bad_source", "power_cut", "bleached", "air_bubbles",
]  # fmt: skip
Request = Literal[
    "bypass_protection", "mix_products", "huge_acid", "other_owner_data", "internals", "pool_not_tub",
    "wants_guarantee_safe", "wiring", "medical",
]  # fmt: skip
Question = Literal[
    "away", "complaint", "all_in_at_once", "kitchen_soda", "household", "bigger_shock", "masking", "metals_fine",
    "how_to_adjust", "bromine_and_chlorine", "changed_over", "same_tap", "guests", "well", "pure_water",
    "cyanurate_days", "drain_first", "eggs", "new_tub", "cya_unlikely", "ph_product", "spoons",
]  # fmt: skip
SYMPTOMS: tuple[Symptom, ...] = get_args(Symptom)
REQUESTS: tuple[Request, ...] = get_args(Request)
QUESTIONS: tuple[Question, ...] = get_args(Question)


def symptoms(text: str) -> tuple[Symptom, ...]:
    """What is wrong with the water or the tub, in the order of `SYMPTOMS`; what is negated does not count."""
    met = _met(text, "symptom")
    return tuple(code for code in SYMPTOMS if code in met)


def requests(text: str) -> tuple[Request, ...]:
    """What is asked for that must be declined or handed on: bypassing a protection, mixing, a promise of safety."""
    met = _met(text, "request")
    return tuple(code for code in REQUESTS if code in met)


def questions(text: str) -> tuple[Question, ...]:
    """What a text asks that has a short answer of its own: products, guests, a holiday, fill water."""
    met = _met(text, "question")
    return tuple(code for code in QUESTIONS if code in met)


def _met(text: str, group: Literal["symptom", "request", "question"]) -> set[str]:
    scanned = scan(text)
    return {rule.name for rule in rules(group) if next(matches(scanned, rule), None)}

"""When something is due, and why: codes with numbers."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Literal, get_args

TestCode = Literal[
    "at_least_weekly",  # days
    "first_week",  # day
    "after_refill",
    "after_party",  # bather_hours
    "bad_reading",
    "lowering_alkalinity",  # ta: a step of acid a day, each by a test
    "forecast_sanitizer",  # chance (of being out of range)
    "forecast_ph",  # chance
    "forecast_alkalinity",  # chance
    "nothing_read",
]
RefillCode = Literal[
    "bather_load",  # litres, bathers_a_day, days
    "solids",  # over_start, limit, a_day
    "cyanurate",  # cya, limit, a_day
    "hardness",  # ch, limit, a_day
    "biofilm",  # days
    "interval",  # days
    "local_rule",  # days
]
TEST_CODES: tuple[str, ...] = get_args(TestCode)
REFILL_CODES: tuple[str, ...] = get_args(RefillCode)


@dataclass(frozen=True, slots=True)
class Due:
    """Hours from now (0 or less: now) with the reason and its numbers; `others` are the later candidates, in order."""

    hours: float
    code: TestCode | RefillCode
    numbers: Mapping[str, float] = field(default_factory=dict)
    others: tuple[Due, ...] = ()


def earliest(candidates: list[Due]) -> Due:
    """The first of them, with the others behind it."""
    first, *others = sorted(candidates, key=lambda due: due.hours)
    return Due(first.hours, first.code, first.numbers, tuple(others))

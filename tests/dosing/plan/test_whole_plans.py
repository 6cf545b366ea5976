"""Whole plans, number for number and code for code: what a change of the planner changes shows here."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from dosing import ASK_CODES, DOUBT_CODES, ESCALATE_CODES, WHY_CODES
from tests.dosing.plan.whole_plans import planned, tubs

TUBS = tubs()
ELSEWHERE = {"prescribed", "after_soak", "soak_beyond_dose", "idle", "oxidise", "oxidise_regularly", "before_holiday"}
"""Reasons that a plan gets from a person of the staff, and those of the routine between tests."""
RARE = {"product_ph_up"}
"""Questions for water that neither air nor any product at hand may lift; none of these is so odd."""


def leaves(value: Any, path: str = "") -> Iterator[tuple[str, Any]]:
    if isinstance(value, dict | list) and value:
        for key, part in value.items() if isinstance(value, dict) else enumerate(value):
            yield from leaves(part, f"{path}/{key}")
    else:
        yield path, value


@pytest.mark.parametrize("tub", TUBS, ids=[str(at) for at in range(1, len(TUBS) + 1)])
def test_a_plan_is_the_one_on_record(tub):
    found, expected = dict(leaves(planned(tub))), dict(leaves(tub["plan"]))
    assert found.keys() == expected.keys()
    for path, value in expected.items():
        if isinstance(value, float):
            assert found[path] == pytest.approx(value, rel=2e-3, abs=0.011), path
        else:
            assert found[path] == value, path


def test_every_reason_doubt_question_and_flag_stands_in_some_plan_on_record():
    plans = [tub["plan"] for tub in TUBS]
    assert {step["why"]["code"] for plan in plans for step in plan["steps"]} == set(WHY_CODES) - ELSEWHERE
    assert {doubt["code"] for plan in plans for doubt in plan["doubts"]} == set(DOUBT_CODES)
    assert {ask for plan in plans for ask in plan["asks"]} == set(ASK_CODES) - RARE
    assert {reason for plan in plans for reason in plan["escalate"]["reasons"]} == set(ESCALATE_CODES)


@pytest.mark.parametrize("tub", TUBS, ids=[str(at) for at in range(1, len(TUBS) + 1)])
def test_a_plan_says_no_more_digits_than_a_reader_can_use(tub):
    for path, value in leaves(planned(tub)):
        if isinstance(value, float):
            assert value == round(value, 3 if "/doubts/" in path or "/substances/" in path else 2), path

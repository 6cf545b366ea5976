"""Kinds of trouble that owners bring, one tub a line in tubs.jsonl: what the plan says, and windows for its grams.

`grams` are windows for the steps' pure grams, `total` what steps and later visits come to within a tenth.
"""

import json
from pathlib import Path

import pytest

from dosing import Addition, Reading, Refill, Said, plan

TUBS = [json.loads(line) for line in Path(__file__).with_name("tubs.jsonl").read_text(encoding="utf-8").splitlines()]


def _past(event):
    return Addition(event["add"], event["hours"]) if "add" in event else Refill(event["fill"], event["hours"])


def _plan(tub):
    values = {key: Said.parse(said) for key, said in (part.strip().split(" ", 1) for part in tub["reading"].split(","))}
    return plan(
        volume=tub["volume"],
        sanitizer=tub["sanitizer"],
        reading=Reading(values, hours_ago=tub.get("hours_ago", 0.0), expired=tub.get("expired", False)),
        history=[_past(event) for event in tub.get("history", ())],
        temperature=tub.get("temp", 38),
        purpose=tub.get("purpose", "test"),
    )


def _grams(made, name):
    return sum(step.substances.get(name, 0.0) for step in made.steps)


@pytest.mark.parametrize("tub", TUBS, ids=[tub["id"] for tub in TUBS])
def test_the_plan_is_what_a_careful_technician_would_sign(tub):
    made = _plan(tub)
    assert made.status == tub["status"]
    for name, (low, high) in tub.get("grams", {}).items():
        assert low <= _grams(made, name) <= high
    for name in tub.get("absent", ()):
        assert _grams(made, name) == 0
    assert set(tub.get("asks", ())) <= set(made.asks)
    assert set(tub.get("doubts", ())) <= {doubt.code for doubt in made.doubts}
    assert set(tub.get("escalate", ())) == set(made.escalate.reasons)
    assert set(tub.get("actions", ())) <= {step.action for step in made.steps}
    if "allowed" in tub:
        assert made.bathing.allowed is tub["allowed"]
    if "why" in tub:
        assert tub["why"] in {step.why.code for step in made.steps}


@pytest.mark.parametrize("tub", [tub for tub in TUBS if "total" in tub], ids=lambda tub: tub["id"])
def test_what_later_visits_bring_adds_up_to_the_whole_correction(tub):
    made = _plan(tub)
    for name, total in tub["total"].items():
        later = sum(rest.grams for rest in made.later if rest.substance == name)
        share = 0.93 if name == "sodium_bisulfate" else 0.99
        assert _grams(made, name) + later * share == pytest.approx(total, rel=0.1)
    if "days" in tub:
        assert max(rest.days for rest in made.later) >= tub["days"]


@pytest.mark.parametrize(
    "tub", [tub for tub in TUBS if tub["status"] in {"ask", "withheld"}], ids=lambda tub: tub["id"]
)
def test_a_plan_that_asks_or_refuses_names_no_grams(tub):
    made = _plan(tub)
    assert not [step for step in made.steps if step.grams]
    assert made.later == ()

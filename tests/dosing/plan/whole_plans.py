"""Whole plans as they are issued, one request a line in whole_plans.jsonl with the plan that follows from it.

A plan that changes is a decision: look at what `git diff` shows after `python -m tests.dosing.plan.whole_plans`, which
computes every line again, and commit it with the reason.
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from dosing import DEFAULT_KIT, Addition, Kit, Past, Product, Reading, Refill, Said, Soak, limits_for, plan, plan_json

FILE = Path(__file__).with_name("whole_plans.jsonl")
OTHERS = (
    Product("bromide_salt", {"sodium_bromide": 1.0}, 1.2),
    Product("bromine_granules", {"bcdmh": 0.96}, 1.0),
    Product("blend", {"sodium_bicarbonate": 0.7, "sodium_carbonate": 0.3}, 1.1),
    Product("muriatic", {"hydrochloric_acid": 0.3145}, 1.16, form="liquid", price=0.5),
    Product("caustic", {"sodium_hydroxide": 0.5}, 1.5),
    Product("binder", {}, 1.0, form="liquid", label_dose_g_per_1000l=50.0, binder=True),
    Product("buffer", {}, 1.0, label_dose_g_per_1000l=120.0, buffer=True, phosphate=True, alkalinity_per_g=0.5),
    Product("gentle", {"sodium_dichlor": 0.99}, 1.0, label_max_g_per_1000l=4.0, predissolve=True),
)


def reading_of(said: str, **other: Any) -> Reading:
    parts = (part.split() for part in said.split(","))
    return Reading({key: Said.parse(value) for key, value in parts}, **other)


def past_of(event: Mapping[str, Any]) -> Past:
    hours = event["hours"]
    if "add" in event:
        return Addition(event["add"], hours)
    if "soak" in event:
        return Soak(*event["soak"], hours)
    if "fill" in event:
        return Refill(event["fill"], hours, reading_of(event["source"]) if "source" in event else None)
    return reading_of(event["read"], method=event.get("method", "strip"), hours_ago=hours)


def planned(tub: Mapping[str, Any]) -> dict[str, Any]:
    products = [*DEFAULT_KIT.products, *(p for p in OTHERS if p.key in tub.get("with", ()))]
    made = plan(
        volume=tub.get("volume", 1300.0),
        sanitizer=tub.get("sanitizer", "chlorine"),
        reading=reading_of(tub["reading"], **tub.get("test", {})) if "reading" in tub else None,
        kit=Kit(tuple(p for p in products if "only" not in tub or p.key in tub["only"])),
        history=[past_of(event) for event in tub.get("history", ())],
        temperature=tub.get("temperature"),
        purpose=tub.get("purpose", "test"),
        limits=limits_for(tub.get("locale", "default")),
        without=tub.get("without", ()),
    )
    return plan_json(made)


def tubs() -> list[dict[str, Any]]:
    lines = FILE.read_text(encoding="utf-8").splitlines()
    return [json.loads(line) for line in lines]


def write(requests: Sequence[Mapping[str, Any]]) -> None:
    lines = [json.dumps({**request, "plan": planned(request)}, separators=(",", ":")) for request in requests]
    FILE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    write(tubs())

"""A tub's past from JSON lines: the journal's own entries, or the same facts written flat.

    {"at": "2027-02-20T18:00:00Z", "kind": "reading", "values": {"ph": "7.6", "ta": 90}, "method": "strip"}
    {"at": "2027-02-20T18:30:00Z", "kind": "addition", "substances": {"sodium_dichlor": 12}}
    {"at": "2027-01-10T10:00:00Z", "kind": "fill"}
    {"at": "2027-02-01T10:00:00Z", "kind": "refill", "litres": 400, "source": {"ta": 210, "ch": 300}}
    {"at": "2027-02-21T20:00:00Z", "kind": "soak", "bathers": 3, "minutes": 30}

A journal entry holds the same under "fact". Facts of other kinds are passed over.
"""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path
from typing import Any

from dosing import SUBSTANCES, Addition, Kit, Past, Reading, Refill, Said, Soak

METHODS = ("strip", "drops", "meter")


class _Source(Reading):
    """A test of the water that the tub is filled from."""


@dataclass(frozen=True)
class _Line:
    fact: Mapping[str, Any]
    hours_ago: float
    kit: Kit


def read_history(path: Path, now: datetime, kit: Kit) -> list[Past]:
    """Everything before `now` in a file of JSON lines. Raises ValueError that names the line and what is wrong."""
    try:
        lines = path.read_text(encoding="utf-8").splitlines()
    except (OSError, UnicodeDecodeError):
        raise ValueError(f"{path} cannot be read: give the path of a file of JSON lines") from None
    out: list[Past] = []
    for number, line in enumerate(lines, 1):
        if line.strip():
            try:
                out += _event(json.loads(line), now, kit)
            except json.JSONDecodeError:
                raise ValueError(f"{path}, line {number}: not JSON; every line is one object") from None
            except (ValueError, TypeError, KeyError, AttributeError) as wrong:
                raise ValueError(f"{path}, line {number}: {wrong}") from None
    return _with_sources(out)


def _with_sources(events: list[Past]) -> list[Past]:
    """Give each test of fill water to the fill nearest to it within two days; by itself it says nothing of the tub."""
    sources = [event for event in events if isinstance(event, _Source)]
    out: list[Past] = [event for event in events if not isinstance(event, _Source)]
    for source in sources:
        fills = [event for event in out if isinstance(event, Refill) and event.source is None]
        near = min(fills, key=lambda fill: abs(fill.hours_ago - source.hours_ago), default=None)
        if near is not None and abs(near.hours_ago - source.hours_ago) <= 48.0:
            out[out.index(near)] = replace(near, source=Reading(source.values, source.method))
    return out


def _event(entry: object, now: datetime, kit: Kit) -> list[Past]:
    if not isinstance(entry, dict):
        raise ValueError("every line is one JSON object")  # noqa: TRY004 - all bad input is one kind of error here
    fact = entry["fact"] if isinstance(entry.get("fact"), dict) else entry
    kind = fact.get("kind", entry.get("fact"))
    make = _KINDS.get(kind) if isinstance(kind, str) else None
    if not isinstance(kind, str):
        raise ValueError("a line says its kind: reading, addition, fill, refill or soak")  # noqa: TRY004
    hours = (now - parse_moment(entry.get("at"))).total_seconds() / 3600.0
    return [make(_Line(fact, hours, kit))] if make is not None and hours >= 0 else []


def parse_moment(text: object) -> datetime:
    """A moment in ISO 8601 with its zone. Raises ValueError with one clear sentence."""
    try:
        moment = datetime.fromisoformat(text) if isinstance(text, str) else None
    except ValueError:
        moment = None
    if moment is None or moment.tzinfo is None:
        raise ValueError(f"{text!r} is not a moment: write it with its zone, such as 2027-03-01T09:00+01:00")
    return moment


def _said(key: str, value: object) -> Said:
    if isinstance(value, str):
        return Said.parse(value)
    if isinstance(value, dict):
        return Said(value["kind"], value.get("low"), value.get("high"))
    if isinstance(value, (int, float)) and not isinstance(value, bool):
        return Said.value(float(value))
    raise ValueError(f"{key} has no number: write 7.4, '7.2-7.8', '<1' or '>10'")


def _values(given: object) -> dict[str, Said]:
    if not isinstance(given, dict):
        raise ValueError("a reading holds its values by key, such as {'ph': 7.4}")  # noqa: TRY004
    return {key: _said(key, value) for key, value in given.items()}


def _reading(line: _Line) -> Past:
    method = line.fact.get("method", "strip")
    if method not in METHODS:
        raise ValueError(f"{method!r} is not a method: strip, drops or meter")
    reading = Reading(_values(line.fact.get("values")), method, line.hours_ago)
    return _Source(reading.values, reading.method, line.hours_ago) if line.fact.get("source") is True else reading


def _addition(line: _Line) -> Past:
    substances = line.fact.get("substances") or {}
    if not substances and line.fact.get("product") and line.fact.get("grams") is not None:
        product = line.kit.named(line.fact["product"])
        if product is None:
            raise ValueError(f"the kit has no product {line.fact['product']!r}: name one of its own, or the substances")
        substances = product.split(float(line.fact["grams"]))
    unknown = [name for name in substances if name not in SUBSTANCES]
    if unknown:
        raise ValueError(f"{unknown[0]!r} is not a known substance; these are: {', '.join(SUBSTANCES)}")
    return Addition({name: float(grams) for name, grams in substances.items()}, line.hours_ago)


def _refill(line: _Line) -> Past:
    litres, source = line.fact.get("litres"), line.fact.get("source")
    if line.fact.get("kind", "refill") == "fill":
        litres = None
    water = Reading(_values(source), "strip", line.hours_ago) if source else None
    return Refill(None if litres is None else float(litres), line.hours_ago, water)


def _soak(line: _Line) -> Past:
    return Soak(int(line.fact.get("bathers", 1)), float(line.fact.get("minutes", 20.0)), line.hours_ago)


_KINDS: Mapping[str, Callable[[_Line], Past]] = {
    "reading": _reading,
    "addition": _addition,
    "fill": _refill,
    "refill": _refill,
    "soak": _soak,
}

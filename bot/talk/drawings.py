"""Drawings in a reader's words: what is handed to whoever draws them."""

import math
from collections.abc import Sequence
from datetime import datetime, timedelta

import dosing
from bot.model.enclosure import CalendarDrawing, CalendarFile, Chart, Mark, Panel, PlanDrawing, Planned, Row
from bot.model.fact import Added, Entry, ReadingTaken, Soaked
from bot.model.tub import Tub
from bot.schedule.calendar import MOST_OF_A_TASK, ONCE, TASKS, CareDay
from bot.schedule.journal import facts
from bot.talk.amounts import mass
from bot.talk.names import product_name, reason_line
from bot.talk.words import Words, line
from dosing import Limits, Plan, Reading, Scale

SHOWN = timedelta(weeks=6)
"""How far back a chart goes."""
LEAST_TESTS = 2
MOST_ROWS = 4


def plan_drawing(words: Words, plan: Plan, volume: float | None, locale: str) -> PlanDrawing | None:
    """A plan on the plane of alkalinity and carbon; None for one that has no place there."""
    if not {"ph", "ta"} <= plan.water.keys() or any(it.key == "ph" for it in plan.assumed):
        return None
    steps = {
        step.key: words.text(
            line("drawing.step", product=product_name(step.product), amount=mass(step.grams or 0.0, words.units))
        )
        for step in plan.steps
        if step.action == "add"
    }
    said = {name: words.text(line(f"drawing.{name}")) for name in _PLANE}
    return PlanDrawing(plan=plan, volume=volume, locale=locale, steps=steps, **said)


_PLANE = ("title", "alkalinity", "carbon", "now", "target", "expected")


def water_chart(
    words: Words, tub: Tub, scale: Scale, limits: Limits, journal: Sequence[Entry], now: datetime
) -> Chart | None:
    """The tests, doses and soaks of the last weeks; None where there is too little to be worth a chart."""
    since = now - SHOWN
    tests = [
        (entry.at, Reading(values=fact.values, method=fact.method).intervals(scale))
        for entry, fact in facts(journal, ReadingTaken, lambda fact: not fact.source)
        if entry.at >= since
    ]
    bands = {
        "br": limits.bromine_fine,
        "fc": (limits.chlorine_fine[0], limits.chlorine_bound),
        "ph": limits.ph_fine,
        "ta": limits.alkalinity_fine,
    }
    sanitizer = "br" if tub.sanitizer == "bromine" else "fc"
    panels = tuple(
        Panel(name=words.text(line(f"chart.{key}")), fine=bands[key], marks=marks)
        for key in (sanitizer, "ph", "ta")
        if (marks := _marks(tests, key))
    )
    if len(tests) < LEAST_TESTS or not panels:
        return None
    return Chart(
        title=words.text(line("chart.title")),
        fine=words.text(line("chart.fine")),
        panels=panels,
        rows=_rows(words, journal, since),
        since=max(since, tests[0][0]),
        until=now,
        language=words.language,
        zone=str(words.zone),
    )


def _marks(tests: Sequence[tuple[datetime, dict[str, dosing.Interval]]], key: str) -> tuple[Mark, ...]:
    return tuple(
        Mark(at=at, low=read[key].low, likely=read[key].likely, high=_closed(read[key].high))
        for at, read in tests
        if key in read
    )


def _closed(end: float) -> float | None:
    return end if math.isfinite(end) else None


def _rows(words: Words, journal: Sequence[Entry], since: datetime) -> tuple[Row, ...]:
    """What went in most often, and when people bathed."""
    poured: dict[str, list[datetime]] = {}
    for entry, added in facts(journal, Added):
        if entry.at >= since and added.product:
            poured.setdefault(added.product, []).append(entry.at)
    often = sorted(poured, key=lambda product: len(poured[product]), reverse=True)[:MOST_ROWS]
    rows = [Row(name=words.text(product_name(product)), at=tuple(poured[product])) for product in often]
    soaks = tuple(entry.at for entry, fact in facts(journal, Soaked) if entry.at >= since and fact.bathers)
    if soaks:
        rows.append(Row(name=words.text(line("chart.soaks")), at=soaks))
    return tuple(rows)


def care_drawing(words: Words, days: Sequence[CareDay], now: datetime) -> CalendarDrawing:
    """The calendar as a picture."""
    return CalendarDrawing(
        title=words.text(line("calendar.title")),
        planned=planned(words, days),
        today=now.astimezone(words.zone).date(),
        language=words.language,
    )


def care_file(words: Words, tub: Tub, days: Sequence[CareDay], now: datetime) -> CalendarFile:
    """The calendar as a file for any calendar program."""
    return CalendarFile(
        name="brimful.ics",
        title=words.text(line("calendar.title")),
        tub=tub.key,
        planned=planned(words, days),
        numbers={what: 1 if what in ONCE else MOST_OF_A_TASK for what in TASKS},
        made=now,
        zone=str(words.zone),
        language=words.language,
    )


def planned(words: Words, days: Sequence[CareDay]) -> tuple[Planned, ...]:
    """The days of a calendar in a reader's words."""
    return tuple(
        Planned(
            task=day.what,
            number=day.number,
            day=day.at.astimezone(words.zone).date(),
            at=day.at,
            name=words.text(line(f"calendar.{day.what}")),
            why=words.text(reason_line(day.what, day.reason)) if day.reason else "",
        )
        for day in days
    )

"""The tub's own routine between tests: what goes in after a soak, on days without one, and before a holiday."""

from collections.abc import Generator
from datetime import datetime, timedelta
from typing import Any, Literal

from pydantic import JsonValue, TypeAdapter

import dosing
from bot.model.fact import PlanClosed, PlanIssued
from bot.schedule.cases import doses_held
from bot.schedule.journal import open_plan
from bot.schedule.season import season_of, started
from bot.talk.amounts import by_measure
from bot.talk.flow import Doing, Flow, Keep, Live, Next, Option, Record, Say, Start, flow
from bot.talk.flows.care import kit_of
from bot.talk.flows.dose_step import Passed, Place, UnderWay, take_step
from bot.talk.words import line
from dosing import Plan, Step, Why, limits_for, season

STEP: TypeAdapter[Step] = TypeAdapter(Step)
GOOD_FOR = timedelta(hours=12)
"""How long a dose of the routine that was named holds: by the next evening it is computed anew (common practice)."""
PLAN_FRESH = timedelta(hours=24)
"""So long a plan comes before the routine: its test is fresh enough for a dose."""
SOAKED = Option("soaked", line("routine.we_soaked"))
Holiday = Literal["holiday"]


def routine_dose(
    start: Start,
    at: str,
    after: dosing.Soak | Holiday | None = None,
    *,
    soak_entry: str | None = None,
    also: Option | None = None,
    silent: bool = False,
) -> Generator[Doing, Any, Passed | Literal["nothing"]]:
    """Name the dose by the tub's routine as a plan of one step and walk through it; "nothing" where none is needed or
    none may be named, which is said unless it is to be `silent`.

    `after` is the soak that has just ended (`soak_entry`: its key in the journal), None where nobody bathed. Use with
    `yield from`.
    """
    advice = yield Keep(f"{at}advice", lambda live: _advice(live, start, at, after, soak_entry))
    assert isinstance(advice, dict)
    if advice["step"] is None:
        if not silent:
            yield Say(line(str(advice["why"])))
        return "nothing"
    step, key = STEP.validate_python(advice["step"]), str(advice["key"])
    if advice["older"]:
        yield Record(f"{at}superseded", PlanClosed(plan_key=str(advice["older"]), how="superseded"))
    yield Record(f"{at}issued", PlanIssued(plan_key=key, plan=Plan("plan", steps=(step,))))
    until = datetime.fromisoformat(str(advice["until"]))
    under_way = UnderWay(start, at, key, kit_of(start), {}, until, "routine.late", also)
    passed = yield from take_step(under_way, step, Place(1, 1))
    if passed == "taken_over":
        yield Say(line("round.taken_over"))
    else:
        how: Literal["done", "abandoned"] = "done" if passed in ("done", "uneven") else "abandoned"
        yield Record(f"{at}closed", PlanClosed(plan_key=key, how=how))
    return passed


def _advice(
    live: Live, start: Start, at: str, after: dosing.Soak | Holiday | None, soak_entry: str | None
) -> JsonValue:
    before = tuple(entry for entry in live.journal if entry.key != soak_entry)
    why = _held_back(live)
    found = None if why else season_of(live.known.tub, live.known.dealer, before, live.now)
    step = _step(found, after, start) if found else None
    if step is None:
        return {"step": None, "why": why or _no_dose(found)}
    older = open_plan(live.journal)
    return {
        "step": STEP.dump_python(step, mode="json"),
        "key": f"routine/{start.person.key}/{live.now.isoformat()}/{at}",
        "until": (live.now + GOOD_FOR).isoformat(),
        "older": older[1].plan_key if older else None,
    }


def _step(found: season.Season, after: dosing.Soak | Holiday | None, start: Start) -> Step | None:
    dose = found.holiday_dose() if after == "holiday" else found.dose(after)
    product = found.tub.kit.named(dose.product) if dose else None
    if dose is None or product is None:
        return None
    beyond = dose.code == "after_soak" and dose.predicted.likely < 0.5 * found.one.least
    why = Why(
        "soak_beyond_dose" if beyond else dose.code,
        {found.tub.key: dose.level.likely, "predicted": dose.predicted.likely},
    )
    grams = by_measure(product, dose.grams)
    return dosing.maintenance_step(product, grams, why, limits_for(start.dealer.locale))


def _held_back(live: Live) -> str | None:
    """What is said where the routine rests, whatever the water is like."""
    if doses_held(live.journal):
        return "case.doses_held"
    if not started(live.journal):
        return "routine.none.not_started"
    plan = open_plan(live.journal)
    if plan and plan[1].reading is not None and live.now - plan[0].at < PLAN_FRESH:
        return "routine.none.plan_open"
    return None


def _no_dose(found: season.Season | None) -> str:
    """What is said where there is no dose by the routine: enough is there, or the card does not hold."""
    if found is None:
        return "card.none.no_reading"
    return f"card.none.{found.no_card}" if found.no_card else "routine.none.enough"


@flow("rest_day")
def rest_day(start: Start) -> Flow:
    """Nobody has bathed for so many days: the dose for that."""
    passed = yield from routine_dose(start, "rest.", also=SOAKED)
    if passed == "soaked":
        return Next("soaked")
    if passed in ("done", "uneven"):
        yield Say(line("routine.done"))
    return None


@flow("holiday_dose")
def holiday_dose(start: Start) -> Flow:
    """Nobody is there from now on: the dose that has to last."""
    passed = yield from routine_dose(start, "holiday.", "holiday", silent=True)
    if passed in ("done", "uneven"):
        yield Say(line("routine.done"))
    return None

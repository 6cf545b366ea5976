"""The tub's own routine between tests: what goes in after a soak, on days without one, and before a holiday."""

from collections.abc import Generator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any, Literal

from pydantic import JsonValue, TypeAdapter

import dosing
from bot.model.fact import PlanClosed, PlanIssued, Soaked
from bot.model.zones import zone
from bot.schedule.cases import doses_held
from bot.schedule.journal import facts, open_plan
from bot.schedule.local import allowed
from bot.schedule.season import season_of, started
from bot.talk.amounts import by_measure
from bot.talk.flow import Doing, Flow, Keep, Live, Next, Option, Record, Say, Start, Wait, flow
from bot.talk.flows.care import kit_of
from bot.talk.flows.dose_step import Passed, Place, UnderWay, take_step
from bot.talk.flows.next_up import next_up
from bot.talk.words import line, lines
from dosing import Plan, Step, Why, limits_for, season

STEP: TypeAdapter[Step] = TypeAdapter(Step)
GOOD_FOR = timedelta(hours=12)
"""How long a dose of the routine that was named holds: by the next evening it is computed anew (common practice)."""
PLAN_FRESH = timedelta(hours=24)
"""So long a plan comes before the routine: its test is fresh enough for a dose."""
OXIDISING = ("oxidise", "oxidise_regularly")
"""Reasons of a dose after which sanitizer may be due as well."""
SOAKED = Option("soaked", line("routine.we_soaked"))
TEST = (Option("/test", line("button.test")),)
TESTS_FIRST = frozenset({f"card.none.{why}" for why in ("no_reading", "test_overdue", "reading_not_fine")})
"""Reasons why no dose is named that a test ends."""
ENOUGH = "routine.none.enough"
Outcome = Passed | Literal["nothing"]


@dataclass(frozen=True, slots=True)
class Occasion:
    """Why a dose is looked for: the key of a soak's entry, a holiday, that it is time to oxidise, or (none of these)
    that nobody bathed. `also` is one more answer to whether it is done; `silent`: where no dose is named, nothing is
    said; `again`: another dose may follow, hours later, where one cannot meet what bathers left.
    """

    soak: str | None = None
    holiday: bool = False
    oxidise: bool = False
    also: Option | None = None
    silent: bool = False
    again: bool = True


def routine_dose(start: Start, at: str, occasion: Occasion) -> Generator[Doing, Any, Outcome]:
    """Name the dose by the tub's routine as a plan of one step and walk through it; "nothing" where none is needed or
    none may be named. What bathers left is oxidised first, where it is too much, and the dose comes after. Use with
    `yield from`.
    """
    advice = yield Keep(f"{at}advice", lambda live: _advice(live, start, at, occasion))
    assert isinstance(advice, dict)
    if advice["step"] is None:
        if not occasion.silent:
            follows = (yield from next_up(start, f"{at}next")) if advice["why"] == ENOUGH else None
            text = lines(line(str(advice["why"])), follows, gap=" ")
            yield Say(text, offers=TEST if advice["why"] in TESTS_FIRST else ())
        return "nothing"
    step = STEP.validate_python(advice["step"])
    if advice["older"]:
        yield Record(f"{at}superseded", PlanClosed(plan_key=str(advice["older"]), how="superseded"))
    until = datetime.fromisoformat(str(advice["until"]))
    under_way = UnderWay(start, at, str(advice["key"]), kit_of(start), {}, until, "routine.late", occasion.also)
    passed = yield from _carry_out(under_way, step)
    if passed in ("done", "uneven") and advice["again"]:
        hours = float(advice["again"]) - step.wait_minutes / 60
        return (yield from _once_more(start, at, replace(occasion, again=False), hours))
    if passed in ("done", "uneven") and step.why.code in OXIDISING:
        then = yield from routine_dose(start, f"{at}then.", replace(occasion, also=None, silent=True, oxidise=False))
        return passed if then == "nothing" else then
    return passed


def dosed(start: Start) -> Generator[Doing, Any, None]:
    """A dose has had its time: what is to be done now, and what comes next."""
    follows = yield from next_up(start, "dosed.next")
    yield Say(lines(line("routine.done"), follows, gap="\n"))


def _once_more(start: Start, at: str, occasion: Occasion, hours: float) -> Generator[Doing, Any, Passed]:
    """After so many hours, not in the night, look at the water again."""
    moment = yield Keep(f"{at}more.at", lambda live: _later(live, start, hours))
    assert isinstance(moment, dict)
    text = line("routine.more", at=datetime.fromisoformat(str(moment["at"])))
    yield Wait(f"{at}more.wait", float(moment["minutes"]), text)
    passed = yield from routine_dose(start, f"{at}more.", replace(occasion, also=None, silent=True))
    return "done" if passed == "nothing" else passed


def _later(live: Live, start: Start, hours: float) -> JsonValue:
    at = allowed(live.now + timedelta(hours=hours), start.person.quiet, zone(start.person.zone))
    return {"at": at.isoformat(), "minutes": (at - live.now).total_seconds() / 60}


def _carry_out(under_way: UnderWay, step: Step) -> Generator[Doing, Any, Passed]:
    at, key = under_way.prefix, under_way.plan_key
    yield Record(f"{at}issued", PlanIssued(plan_key=key, plan=Plan("plan", steps=(step,))))
    passed = yield from take_step(under_way, step, Place(1, 1))
    if passed == "taken_over":
        yield Say(line("round.taken_over"))
    else:
        how: Literal["done", "abandoned"] = "done" if passed in ("done", "uneven") else "abandoned"
        yield Record(f"{at}closed", PlanClosed(plan_key=key, how=how))
    return passed


def _advice(live: Live, start: Start, at: str, occasion: Occasion) -> JsonValue:
    why = _held_back(live)
    found = None if why else season_of(live.known.tub, live.known.dealer, live.journal, live.now)
    dose = _dose(found, live, occasion) if found else None
    step = _step(found, dose, start) if found else None
    if dose is None or step is None:
        return {"step": None, "why": why or _no_dose(found)}
    older = open_plan(live.journal)
    return {
        "step": STEP.dump_python(step, mode="json"),
        "key": f"routine/{start.person.key}/{live.now.isoformat()}/{len(live.journal)}/{at}",
        "until": (live.now + GOOD_FOR).isoformat(),
        "older": older[1].plan_key if older else None,
        "again": dose.again_hours if occasion.again else None,
    }


def _dose(found: season.Season, live: Live, occasion: Occasion) -> season.Dose | None:
    if occasion.holiday:
        return found.holiday_dose()
    if occasion.oxidise:
        return found.regular_oxidiser()
    for entry, soak in facts(live.journal, Soaked):
        if entry.key == occasion.soak:
            hours = (live.now - entry.at).total_seconds() / 3600.0
            return found.dose(dosing.Soak(soak.bathers, soak.minutes, hours))
    return found.dose()


def _step(found: season.Season, dose: season.Dose | None, start: Start) -> Step | None:
    product = found.tub.kit.named(dose.product) if dose else None
    if dose is None or product is None:
        return None
    beyond = dose.code == "after_soak" and dose.predicted.likely < 0.5 * found.one.least
    numbers = {found.tub.key: dose.level.likely, "predicted": dose.predicted.likely}
    why = Why("soak_beyond_dose" if beyond else dose.code, numbers)
    return dosing.maintenance_step(product, by_measure(product, dose.grams), why, limits_for(start.dealer.locale))


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
    return f"card.none.{found.no_card}" if found.no_card else ENOUGH


@flow("rest_day")
def rest_day(start: Start) -> Flow:
    """Nobody has bathed for so many days: the dose for that."""
    passed = yield from routine_dose(start, "rest.", Occasion(also=SOAKED))
    if passed == "soaked":
        return Next("soaked")
    if passed in ("done", "uneven"):
        yield from dosed(start)
    return None


@flow("oxidise")
def oxidise(start: Start) -> Flow:
    """It is time to oxidise the water."""
    passed = yield from routine_dose(start, "oxidise.", Occasion(oxidise=True, silent=True))
    if passed in ("done", "uneven"):
        yield from dosed(start)
    return None


@flow("holiday_dose")
def holiday_dose(start: Start) -> Flow:
    """Nobody is there from now on: the dose that has to last."""
    passed = yield from routine_dose(start, "holiday.", Occasion(holiday=True, silent=True))
    if passed in ("done", "uneven"):
        yield Say(line("routine.done"))
    return None

"""The steps of a plan that is open, one by one, and how that ends: another test, another day, or a person."""

from collections.abc import Generator
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from pydantic import JsonValue

from bot.model.fact import RETEST, PlanClosed, StepPassed, TestWanted
from bot.model.zones import zone
from bot.schedule.journal import open_cases
from bot.schedule.local import allowed
from bot.schedule.season import is_taught
from bot.talk.advice import ask_lines, bathing_line, caution_lines, rest_lines, why_line
from bot.talk.amounts import sentences, shown
from bot.talk.flow import Ask, Doing, Keep, Live, Option, Record, Say, Start
from bot.talk.flows.dose_step import Passed, Place, UnderWay, standing_of, take_step
from bot.talk.flows.next_up import next_up
from bot.talk.words import line, lines
from dosing import Plan, Step

TOMORROW = 24.0
OTHER_DAY = 6 * 60
"""Minutes from which on a wait is not waited for in the conversation."""
SANITIZING = frozenset(
    {"sanitizer_low", "active_chlorine_low", "no_sanitizer", "combined_chlorine", "shock", "startup_sanitizer"}
)
"""Reasons of doses that do not rest on what an earlier step did: warm water is never left without sanitizer."""


@dataclass(frozen=True, slots=True)
class Ended:
    """How it ended, and whether the readings allow bathing.

    in_range: nothing more to add; later: the rest follows after another test, which is set; doubted: no dose, because
    the test is to be done again; unknown: something needed for a dose is not known; person: a technician has it;
    taken_over: somebody else of the household goes on.
    """

    how: Literal["in_range", "later", "doubted", "unknown", "person", "taken_over"]
    bathing: bool = False


@dataclass(frozen=True, slots=True)
class Lacking:
    """A product of the plan is not there; `poured`: something of the plan went in already."""

    product: str
    poured: bool


@dataclass(frozen=True, slots=True)
class Goes:
    """What follows: another test after the doses, or the correction of a reading that was told wrong."""

    on: Literal["test", "correct"]


Result = Ended | Goes


def doable(plan: Plan) -> list[Step]:
    """The steps before the new test."""
    return [step for step in plan.steps if step.action != "retest"]


def walk(under_way: UnderWay, plan: Plan) -> Generator[Doing, Any, Result | Lacking]:
    """Walk the owner through the steps of a plan that is open."""
    steps = doable(plan)
    if not plan.escalate.needed:
        rest = rest_lines(plan, under_way.start.person.units)
        yield Say(shown(bathing_line(plan), *rest, *ask_lines(plan, products=True)))
    did = uneven = False
    number, of = 0, sum(step.action != "wait" for step in steps)
    before: Step | None = None
    for step in steps:
        number += step.action != "wait"
        if uneven and not _stands_alone(step):
            continue
        if step.action == "wait" and step.wait_minutes >= OTHER_DAY:
            return (yield from _another_day(under_way, step, did=did))
        passed = yield from take_step(under_way, step, Place(number, of, before))
        before = step
        if passed not in ("done", "uneven", "left"):
            return (yield from _broken_off(under_way, step, passed, poured=did))
        did = did or passed != "left"
        uneven = uneven or passed != "done"
    return (yield from _through(under_way, plan, did=did))


def _broken_off(
    under_way: UnderWay, step: Step, why: Passed, *, poured: bool
) -> Generator[Doing, Any, Result | Lacking]:
    """A plan that is not carried out to its end."""
    if why == "correct":
        return Goes("correct")
    if why == "person":
        yield from close(under_way.prefix, under_way.plan_key, "abandoned")
        return Ended("person")
    yield Say(line(f"round.{why}"))
    if why == "missing":
        return Lacking(step.product or step.key, poured=poured)
    return Ended("taken_over") if why == "taken_over" else Goes("test")


def _stands_alone(step: Step) -> bool:
    return step.why.code in SANITIZING or step.action == "wait"


def _another_day(under_way: UnderWay, step: Step, *, did: bool) -> Generator[Doing, Any, Ended]:
    """So long a wait ends the sitting: the next test is set, and everybody is reminded of it."""
    at = f"{under_way.prefix}{step.key}."
    yield from close(under_way.prefix, under_way.plan_key, "done")
    nothing = step.why.code == "bounds_hold_rest" and not did
    why = line("why.enough_for_now") if nothing else why_line(step, under_way.test)
    yield Say(lines(why, sentences(caution_lines(step, ()))))
    yield from test_wanted(under_way.start, f"{at}next", step.wait_minutes / 60, "rest")
    return Ended("later")


def _through(under_way: UnderWay, plan: Plan, *, did: bool) -> Generator[Doing, Any, Result]:
    """The end of a plan whose steps are done or left out."""
    at, key = under_way.prefix, under_way.plan_key
    if (yield from standing_of(under_way, f"{at}end")) == "taken_over":
        yield Say(line("round.taken_over"))
        return Ended("taken_over")
    yield from close(at, key, "done" if did else "abandoned")
    if not did:
        yield from test_wanted(under_way.start, f"{at}left", TOMORROW, "rest")
        return Ended("later")
    if any(step.action == "retest" for step in plan.steps):
        if not (yield from _leaves_it_at_that(under_way, plan)):
            yield Say(shown(line("round.retest"), *ask_lines(plan, products=False)))
            return Goes("test")
        return Ended("later")
    if plan.later:
        yield from test_wanted(under_way.start, f"{at}later", TOMORROW, "rest")
        return Ended("later")
    return Ended("in_range", plan.bathing.allowed)


def _leaves_it_at_that(under_way: UnderWay, plan: Plan) -> Generator[Doing, Any, bool]:
    """Whether the doses went into water that is known by now, and nobody wants to bathe or to see what they did: then
    the next test comes when it is due.
    """
    doubted = any(step.why.code == "reading_doubted" for step in plan.steps)
    at = f"{under_way.prefix}end."
    if plan.escalate.needed or doubted or not (yield Keep(f"{at}taught", _is_taught)):
        return False
    again = yield Ask(
        f"{at}retest",
        line("round.retest_to_bathe"),
        (Option("now", line("round.test_now")), Option("later", line("round.not_today"))),
        name="retest",
    )
    if again == "now":
        return False
    yield Record(f"{at}left", StepPassed(plan_key=under_way.plan_key, step=RETEST, done=False))
    yield Say(lines(line("round.until_then"), (yield from next_up(under_way.start, f"{at}next")), gap=" "))
    return True


def _is_taught(live: Live) -> JsonValue:
    unfit = any(fact.klass == "water" for _, fact in open_cases(live.journal))
    return is_taught(live.journal) and not unfit


def close(at: str, key: str, how: Literal["done", "abandoned", "withheld"]) -> Generator[Doing, Any, None]:
    """Close a plan."""
    yield Record(f"{at}closed", PlanClosed(plan_key=key, how=how))


def test_wanted(start: Start, key: str, hours: float, why: str) -> Generator[Doing, Any, None]:
    """Set the next test, sooner than the week's, and outside the quiet hours."""
    moment = yield Keep(f"{key}.at", lambda live: _outside_quiet_hours(live, start, hours))
    at = datetime.fromisoformat(str(moment))
    yield Record(key, TestWanted(at=at, why=why))
    yield Say(line("round.next_test", at=at))


def _outside_quiet_hours(live: Live, start: Start, hours: float) -> JsonValue:
    at = live.now + timedelta(hours=hours)
    return allowed(at, start.person.quiet, zone(start.person.zone)).isoformat()

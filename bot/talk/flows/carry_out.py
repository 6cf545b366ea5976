"""A plan for one test: computed, issued and carried out, or what is done where there is no dose on that test."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from pydantic import JsonValue, TypeAdapter

import dosing
from bot.model.fact import CaseCleared, PlanClosed, PlanIssued, Warned
from bot.model.tub import Method, Tub
from bot.schedule.journal import facts, known_to_dosing, open_plan
from bot.schedule.plans import doubted_tests, failed_plans
from bot.schedule.season import season_with
from bot.talk.advice import ask_lines, bathing_line, doubt_lines, findings
from bot.talk.amounts import shown
from bot.talk.cases import clear_by_reading
from bot.talk.flow import Ask, Doing, Heard, Keep, Live, Option, Record, Say, Start
from bot.talk.flows.dose_step import UnderWay
from bot.talk.flows.hand_over import hand_over
from bot.talk.flows.needed import Purpose
from bot.talk.flows.next_up import next_up
from bot.talk.flows.pads import understood_line
from bot.talk.flows.walk_plan import (
    SANITIZING,
    TOMORROW,
    Ended,
    Goes,
    Lacking,
    Result,
    close,
    doable,
    test_wanted,
    walk,
)
from bot.talk.understand import agree
from bot.talk.words import line, lines
from dosing import Kit, Limits, Plan, Said, Scale, limits_for

PLAN: TypeAdapter[Plan] = TypeAdapter(Plan)
ENOUGH = 2
"""Plans or tests in a row after which a person is asked to look."""


@dataclass(frozen=True, slots=True)
class Sitting:
    """What stays the same over all rounds of one sitting."""

    start: Start
    tub: Tub
    purpose: Purpose

    @property
    def kit(self) -> Kit:
        """The products at hand."""
        return self.tub.kit or self.start.dealer.kit

    @property
    def scale(self) -> Scale:
        """The chart beside the strips."""
        return self.tub.scale or self.start.dealer.scale

    @property
    def limits(self) -> Limits:
        """The numbers that hold at this dealer's."""
        return limits_for(self.start.dealer.locale)


@dataclass(frozen=True, slots=True)
class Test:
    """A test of the water as told, when it was told, and the key of its entry."""

    values: Mapping[str, Said]
    method: Method
    entry: str
    at: datetime
    after_dose: bool


def plan_and_do(sitting: Sitting, at: str, test: Test) -> Generator[Doing, Any, Result]:
    """Compute the plan for a test and carry it out; again without a product that is not there."""
    without: list[str] = []
    until = test.at + timedelta(hours=sitting.limits.reading_hours)
    while True:
        if without and (yield Keep(f"{at}stale.{len(without)}", lambda live: live.now > until)):
            yield Say(line("round.stale"))
            return Goes("test")
        variant = f"{at}without.{len(without)}." if without else at
        plan, key = yield from _issue(sitting, variant, test, without)
        ended = yield from _carry_out(
            sitting, variant, plan, UnderWay(sitting.start, variant, key, sitting.kit, test.values, until)
        )
        if not isinstance(ended, Lacking):
            return ended
        without.append(ended.product)
        if ended.poured:
            yield Say(line("round.test_for_new_plan"))
            return Goes("test")


def _issue(sitting: Sitting, at: str, test: Test, without: Sequence[str]) -> Generator[Doing, Any, tuple[Plan, str]]:
    """Compute a plan and issue it in place of the one that was open."""
    key = f"{test.entry}/{len(without)}"
    computed = yield Keep(f"{at}plan", lambda live: _computed(live, sitting, test, tuple(without)))
    plan = PLAN.validate_python(computed)
    yield from issue(at, PlanIssued(plan_key=key, plan=plan, reading=test.entry))
    found = findings(plan) if len(doable(plan)) != 1 else None
    yield Say(shown(None if without or not test.values else understood_line(test.values), found))
    return plan, key


def issue(at: str, issued: PlanIssued) -> Generator[Doing, Any, None]:
    """Write down a plan in place of the one that was open."""
    older = yield Keep(f"{at}older", lambda live: _other_plan(live, issued.plan_key))
    if older:
        yield Record(f"{at}superseded", PlanClosed(plan_key=str(older), how="superseded"))
    yield Record(f"{at}issued", issued)


def _computed(live: Live, sitting: Sitting, test: Test, without: tuple[str, ...]) -> JsonValue:
    before = tuple(entry for entry in live.journal if entry.key != test.entry)
    reading = dosing.Reading(values=test.values, method=test.method, after_dose=test.after_dose)
    known = season_with(sitting.tub, sitting.start.dealer, before, live.now, reading, without)
    if known is not None:
        return PLAN.dump_python(known.plan(reading, sitting.purpose), mode="json")  # type: ignore[no-any-return]
    plan = dosing.plan(
        volume=sitting.tub.volume,
        sanitizer=sitting.tub.sanitizer,
        reading=reading,
        kit=sitting.kit,
        scale=sitting.scale,
        history=known_to_dosing(before, live.now),
        purpose=sitting.purpose,
        limits=sitting.limits,
        without=without,
    )
    return PLAN.dump_python(plan, mode="json")  # type: ignore[no-any-return]


def _other_plan(live: Live, key: str) -> JsonValue:
    found = open_plan(live.journal)
    return found[1].plan_key if found and found[1].plan_key != key else None


def _carry_out(sitting: Sitting, at: str, plan: Plan, under_way: UnderWay) -> Generator[Doing, Any, Result | Lacking]:
    """Say what the plan says, doubts first, and do it."""
    key = under_way.plan_key
    if plan.escalate.needed:
        yield from _escalate(sitting.start, at, plan)
    else:
        yield from _no_progress(sitting, at)
    for doubt in doubt_lines(plan):
        yield Say(doubt)
    if plan.status == "withheld":
        yield Say(shown(*ask_lines(plan), line("round.withheld")))
        yield from close(at, key, "withheld")
        return Ended("person" if plan.escalate.needed else "unknown")
    if plan.status == "fine":
        yield from close(at, key, "done")
        yield from _clear_cases(at, plan)
        follows = yield from next_up(sitting.start, f"{at}next", after_test=True)
        yield Say(lines(bathing_line(plan), follows), offers=(Option("/correct", line("button.correct")),))
        return Ended("in_range", plan.bathing.allowed)
    if plan.status == "ask" or not plan.steps:
        return (yield from _ask_for_more(sitting.start, at, plan, key))
    if sitting.start.args.get("binder") and not any(step.why.code in SANITIZING for step in plan.steps):
        return (yield from _binder_first(sitting, at, key))
    return (yield from walk(under_way, plan))


def _binder_first(sitting: Sitting, at: str, key: str) -> Generator[Doing, Any, Ended]:
    """Metals fall out where pH rises, and a binder needs a day: what is no sanitizer waits for the next test."""
    yield from close(at, key, "withheld")
    yield Say(line("round.binder_first"))
    yield from test_wanted(sitting.start, f"{at}bound", TOMORROW, "rest")
    return Ended("later")


def _no_progress(sitting: Sitting, at: str) -> Generator[Doing, Any, None]:
    """A person looks at it where plans did not do what they should, or tests make no sense, twice in a row."""
    trouble = yield Keep(f"{at}trouble", lambda live: _trouble(live, sitting))
    if trouble:
        yield Record(f"{at}trouble.said", Warned(caution=str(trouble)))
        yield Say(line(f"round.{trouble}"))
        yield from hand_over(sitting.start, f"{at}trouble.case", (str(trouble),))


def _trouble(live: Live, sitting: Sitting) -> JsonValue:
    """What is wrong, where it was not said in this sitting already."""
    said = {fact.caution for entry, fact in facts(live.journal, Warned) if entry.at >= sitting.start.began}
    if failed_plans(live.journal, sitting.scale) >= ENOUGH:
        return None if "plan_failed" in said else "plan_failed"
    return "doubted_reading" if doubted_tests(live.journal) >= ENOUGH and "doubted_reading" not in said else None


def _ask_for_more(start: Start, at: str, plan: Plan, key: str) -> Generator[Doing, Any, Result]:
    """No dose on this test: another one, now or later, or a person. What was doubted twice is looked at another day."""
    if (yield Keep(f"{at}twice", lambda live: doubted_tests(live.journal) >= ENOUGH)):
        yield from close(at, key, "withheld")
        yield Say(shown(*ask_lines(plan), bathing_line(plan), line("round.enough_today")))
        yield from test_wanted(start, f"{at}later", TOMORROW / 2, "doubt")
        return Ended("doubted")
    again = yield Ask(
        f"{at}again",
        shown(*ask_lines(plan), bathing_line(plan)),
        (
            Option("now", line("round.test_again")),
            Option("later", line("round.test_later")),
            Option("person", line("stuck.person")),
            Option("correct", line("button.correct")),
        ),
        _reads_whether_now,
        name="again",
    )
    if again == "correct":
        return Goes("correct")
    yield from close(at, key, "withheld")
    if again == "now":
        return Goes("test")
    if again == "person":
        yield from hand_over(start, f"{at}case", ("doubted_reading",))
        return Ended("person")
    yield from test_wanted(start, f"{at}later", TOMORROW / 2, "doubt")
    return Ended("doubted")


def _reads_whether_now(text: str) -> Heard | None:
    yes = agree(text)
    return None if yes is None else Heard("now" if yes else "later")


def _escalate(start: Start, at: str, plan: Plan) -> Generator[Doing, Any, None]:
    reasons = tuple(f"dosing_{code}" for code in plan.escalate.reasons)
    yield Say(shown(*(line(f"escalate.{code}") for code in plan.escalate.reasons)))
    yield from hand_over(start, f"{at}escalated", reasons, "", plan.escalate.kind or "stuck")


def _clear_cases(at: str, plan: Plan) -> Generator[Doing, Any, None]:
    """A good reading clears what was open because the water was not fit."""
    if not plan.bathing.allowed:
        return
    cases = yield Keep(f"{at}cases", lambda live: [fact.case for _, fact in clear_by_reading(live.journal)])
    for case in cases:
        yield Record(f"{at}cleared.{case}", CaseCleared(case=str(case), by="reading"))
    if cases:
        yield Say(line("round.case_cleared"))

"""Test, plan, dose, wait and test again, until the water is in range or a person is needed."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from pydantic import JsonValue, TypeAdapter

import dosing
from bot.model.fact import CaseCleared, PlanClosed, PlanIssued, ReadingTaken, TestWanted
from bot.model.tub import Method, Tub
from bot.schedule.journal import known_to_dosing, open_plan
from bot.talk.advice import bathing_line, doubt_line, findings
from bot.talk.amounts import shown
from bot.talk.cases import clear_by_reading
from bot.talk.flow import Ask, Doing, Keep, Live, Option, Record, Say, Start
from bot.talk.flows.dose_step import Round, open_stuck, take_step
from bot.talk.flows.needed import Purpose, due_pads, tub_for_dosing
from bot.talk.flows.pads import Pads, Unclear, ask_pads, understood_line
from bot.talk.words import Line, line, lines
from dosing import Kit, Limits, Plan, Said, Scale, limits_for

PLAN: TypeAdapter[Plan] = TypeAdapter(Plan)
How = Literal["in_range", "later", "doubted", "unknown", "person", "taken_over"]
MOST_ROUNDS = 5
"""Rounds of dosing in one sitting; whatever is not in range by then goes on the next day (common practice)."""


@dataclass(frozen=True, slots=True)
class Ended:
    """How a round of dosing ended.

    in_range: nothing more to add; later: the rest follows after another test, which is set; doubted: no dose, because
    the test is to be done again; unknown: something needed for a dose is not known; person: a technician has it;
    taken_over: somebody else of the household goes on.
    """

    how: How
    bathing: bool = False


@dataclass(frozen=True, slots=True)
class Lacking:
    """A product of the plan is not there; `poured`: something of the plan went in already."""

    product: str
    poured: bool


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
    """A test of the water as told, and the key of its entry."""

    values: Mapping[str, Said]
    method: Method
    entry: str
    after_dose: bool


def dosing_round(
    start: Start,
    *,
    prefix: str,
    purpose: Purpose = "test",
    prefilled: Mapping[str, Said] | None = None,
    unclear: Sequence[Unclear] = (),
    extra: Sequence[str] | None = None,
    head: Line | None = None,
) -> Generator[Doing, Any, Ended]:
    """Ask for a test of the water, compute the plan, walk through its steps and retests.

    Use with `yield from`. `prefix` makes its keys unique within the flow. `prefilled` are readings told already,
    `unclear` what could be two things among them, `extra` the readings to ask for besides sanitizer, pH and alkalinity
    (None: those that are due), `head` is said with the first question. Every reading, plan and addition is recorded.
    """
    tub = yield from tub_for_dosing(start, f"{prefix}tub.")
    if tub is None:
        return Ended("unknown")
    sitting = Sitting(start, tub, purpose)
    for number in range(1, MOST_ROUNDS + 1):
        at = f"{prefix}{number}."
        if number == 1:
            told = dict(prefilled or {})
            more = extra if extra is not None else (yield from due_pads(at, purpose, told))
            test = yield from _test(sitting, at, told, unclear, more, head)
        else:
            test = yield from _test(sitting, at, after_dose=True)
        ended = yield from _plan_and_do(sitting, at, test)
        if ended is not None:
            return ended
    yield Say(line("round.enough_today"))
    yield from _test_wanted(f"{prefix}enough", 24, "rest")
    return Ended("later")


def _test(
    sitting: Sitting,
    at: str,
    told: Mapping[str, Said] | None = None,
    unclear: Sequence[Unclear] = (),
    more: Sequence[str] = (),
    head: Line | None = None,
    *,
    after_dose: bool = False,
) -> Generator[Doing, Any, Test]:
    """Ask for the pads and record them."""
    tub = sitting.tub
    sanitizer = "br" if tub.sanitizer == "bromine" else "fc"
    pads = Pads((sanitizer, "ph", "ta", *more), sitting.scale, tub.method, tub.sanitizer or "chlorine")
    values, method = yield from ask_pads(at, pads, told, unclear, head)
    entry = yield Record(f"{at}reading", ReadingTaken(values=values, method=method))
    return Test(values, method, str(entry), after_dose)


def _plan_and_do(sitting: Sitting, at: str, test: Test) -> Generator[Doing, Any, Ended | None]:
    """Compute the plan for a test and carry it out; again without a product that is not there. None: test again."""
    without: list[str] = []
    while True:
        variant = f"{at}without.{len(without)}." if without else at
        plan, key = yield from _issue(sitting, variant, test, without)
        ended = yield from _carry_out(sitting, variant, plan, key)
        if not isinstance(ended, Lacking):
            return ended
        without.append(ended.product)
        if ended.poured:
            yield Say(line("round.test_for_new_plan"))
            return None


def _issue(sitting: Sitting, at: str, test: Test, without: Sequence[str]) -> Generator[Doing, Any, tuple[Plan, str]]:
    """Compute a plan and issue it in place of the one that was open."""
    key = f"{test.entry}/{len(without)}"
    computed = yield Keep(f"{at}plan", lambda live: _computed(live, sitting, test, tuple(without)))
    plan = PLAN.validate_python(computed)
    older = yield Keep(f"{at}older", lambda live: _other_plan(live, key))
    if older:
        yield Record(f"{at}superseded", PlanClosed(plan_key=str(older), how="superseded"))
    yield Record(f"{at}issued", PlanIssued(plan_key=key, plan=plan, reading=test.entry))
    yield Say(lines(None if without else understood_line(test.values), findings(plan), gap="\n"))
    return plan, key


def _computed(live: Live, sitting: Sitting, test: Test, without: tuple[str, ...]) -> JsonValue:
    before = tuple(entry for entry in live.journal if entry.key != test.entry)
    plan = dosing.plan(
        volume=sitting.tub.volume,
        sanitizer=sitting.tub.sanitizer,
        reading=dosing.Reading(values=test.values, method=test.method, after_dose=test.after_dose),
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


def _carry_out(sitting: Sitting, at: str, plan: Plan, key: str) -> Generator[Doing, Any, Ended | Lacking | None]:
    """Do what the plan says. None: a new test follows."""
    if plan.escalate.needed:
        yield from _escalate(sitting.start, at, plan)
    for doubt in plan.doubts:
        yield Say(doubt_line(doubt))
    if plan.status == "withheld":
        yield Say(shown(*(line(f"ask.{code}") for code in plan.asks), line("round.withheld")))
        yield Record(f"{at}closed", PlanClosed(plan_key=key, how="withheld"))
        return Ended("person" if plan.escalate.needed else "unknown")
    if plan.status == "fine":
        yield Record(f"{at}closed", PlanClosed(plan_key=key, how="done"))
        yield from _clear_cases(at, plan)
        yield Say(bathing_line(plan))
        return Ended("in_range", plan.bathing.allowed)
    if plan.status == "ask" or not plan.steps:
        return (yield from _ask_for_more(sitting.start, at, plan, key))
    return (yield from _steps(Round(sitting.start, at, key, sitting.kit, sitting.limits.reading_hours), plan))


def _ask_for_more(start: Start, at: str, plan: Plan, key: str) -> Generator[Doing, Any, Ended | None]:
    """No dose on this test: another one, now or later, or a person."""
    again = yield Ask(
        f"{at}again",
        shown(*(line(f"ask.{code}") for code in plan.asks), bathing_line(plan)),
        (
            Option("now", line("round.test_again")),
            Option("later", line("round.test_later")),
            Option("person", line("stuck.person")),
            Option("/back", line("button.correct")),
        ),
        name="again",
        columns=1,
    )
    yield Record(f"{at}closed", PlanClosed(plan_key=key, how="withheld"))
    if again == "now":
        return None
    if again == "person":
        yield from open_stuck(start, f"{at}case", ("doubted_reading",), "")
        yield Say(line("round.person"))
        return Ended("person")
    yield from _test_wanted(f"{at}later", 12, "doubt")
    return Ended("doubted")


def _steps(under_way: Round, plan: Plan) -> Generator[Doing, Any, Ended | Lacking | None]:
    steps = [step for step in plan.steps if step.action != "retest"]
    if any(step.action == "add" for step in steps):
        yield Say(bathing_line(plan))
    for number, step in enumerate(steps, 1):
        passed = yield from take_step(under_way, step, number, len(steps))
        if passed != "done":
            yield Say(line(f"round.{passed}"))
        match passed:
            case "taken_over" | "person":
                return Ended(passed)
            case "missing":
                return Lacking(step.product or step.key, poured=number > 1)
            case "stale":
                return None
    return (yield from _through(under_way, plan))


def _through(under_way: Round, plan: Plan) -> Generator[Doing, Any, Ended | None]:
    """The end of a plan whose steps are all done or left out."""
    at, key = under_way.prefix, under_way.plan_key
    yield Record(f"{at}closed", PlanClosed(plan_key=key, how="done"))
    if any(step.action == "retest" for step in plan.steps):
        yield Say(line("round.retest"))
        return None
    yield from _clear_cases(at, plan)
    if plan.later:
        yield from _test_wanted(f"{at}later", 24, "rest")
        return Ended("later", plan.bathing.allowed)
    return Ended("in_range", plan.bathing.allowed)


def _escalate(start: Start, at: str, plan: Plan) -> Generator[Doing, Any, None]:
    reasons = tuple(f"dosing_{code}" for code in plan.escalate.reasons)
    yield from open_stuck(start, f"{at}escalated", reasons, "", plan.escalate.kind or "stuck")
    yield Say(shown(*(line(f"escalate.{code}") for code in plan.escalate.reasons)))


def _clear_cases(at: str, plan: Plan) -> Generator[Doing, Any, None]:
    """A good reading clears what was open because the water was not fit."""
    if not plan.bathing.allowed:
        return
    cases = yield Keep(f"{at}cases", lambda live: [fact.case for _, fact in clear_by_reading(live.journal)])
    assert isinstance(cases, list)
    for case in cases:
        yield Record(f"{at}cleared.{case}", CaseCleared(case=str(case), by="reading"))
    if cases:
        yield Say(line("round.case_cleared"))


def _test_wanted(key: str, hours: float, why: str) -> Generator[Doing, Any, None]:
    moment = yield Keep(f"{key}.at", lambda live: (live.now + timedelta(hours=hours)).isoformat())
    at = datetime.fromisoformat(str(moment))
    yield Record(key, TestWanted(at=at, why=why))
    yield Say(line("round.next_test", at=at))

"""One step of a plan, from naming the amount to the end of its wait."""

from collections.abc import Generator
from dataclasses import dataclass
from typing import Any, Literal

from pydantic import JsonValue

from bot.model.fact import Added, CaseOpened, Refilled, StepPassed, Warned
from bot.model.message import Dose
from bot.schedule.journal import facts, open_plan
from bot.talk.advice import caution_lines, caution_names, why_line
from bot.talk.amounts import amount, mass, shown
from bot.talk.cases import new_case
from bot.talk.flow import Again, Ask, Doing, Heard, Keep, Live, Option, Reads, Record, Say, Start, Wait
from bot.talk.names import product_name
from bot.talk.poured import poured
from bot.talk.words import Line, Span, Volume, line, lines
from dosing import Kit, Step

Passed = Literal["done", "missing", "person", "taken_over", "stale"]
"""missing: the owner has not got the product; stale: the reading behind the plan is more than a day old."""


@dataclass(frozen=True, slots=True)
class Round:
    """A plan under way: its key in the journal, the kit it draws on, and the prefix of its questions."""

    start: Start
    prefix: str
    plan_key: str
    kit: Kit
    reading_hours: float


def take_step(under_way: Round, step: Step, number: int, of: int) -> Generator[Doing, Any, Passed]:
    """Walk the owner through one step and its wait."""
    key = f"{under_way.prefix}{step.key}"
    if number > 1 and (stopped := (yield from _still_good(under_way, f"{key}.before"))):
        return stopped
    if step.action != "wait":
        ended = yield from _do(under_way, step, key, line("step.count", number=number, of=of) if of > 1 else None)
        if ended != "done":
            return ended
    if step.wait_minutes:
        yield Wait(
            f"{key}.wait",
            step.wait_minutes,
            line("step.waiting" if number < of else "step.waiting_last", span=Span(step.wait_minutes)),
            wait_minutes=step.wait_minutes,
        )
    return "done"


def _still_good(under_way: Round, key: str) -> Generator[Doing, Any, Passed | None]:
    found = yield Keep(key, lambda live: _standing_of(live, under_way))
    return None if found == "open" else found


def _standing_of(live: Live, under_way: Round) -> str:
    plan = open_plan(live.journal)
    if plan is None or plan[1].plan_key != under_way.plan_key:
        return "taken_over"
    hours = (live.now - plan[0].at).total_seconds() / 3600
    return "stale" if hours > under_way.reading_hours else "open"


def _do(under_way: Round, step: Step, key: str, head: Line | None) -> Generator[Doing, Any, Passed]:
    start = under_way.start
    warned = yield Keep(f"{key}.warned", lambda live: [fact.caution for _, fact in facts(live.journal, Warned)])
    for code, name in caution_names(step).items():
        if name not in warned:
            yield Record(f"{key}.caution.{code}", Warned(caution=name))
    text = _told(under_way, step, head, warned)
    times = 0
    while True:
        times += 1
        answer = yield _did(under_way, step, f"{key}.did" if times == 1 else f"{key}.did.{times}", text)
        if answer != "stuck":
            break
        trouble = yield Ask(f"{key}.stuck.{times}", line("step.stuck"), _troubles(step), columns=1)
        if trouble == "missing":
            return "missing"
        if trouble == "person":
            yield from open_stuck(start, f"{key}.case", ("stuck_dose",), f"{step.key}")
            return "person"
        text = lines(line("step.measuring"), _told(under_way, step, head, warned))
    if answer == "skip":
        yield Record(f"{key}.passed", StepPassed(plan_key=under_way.plan_key, step=step.key, done=False))
        yield Say(line("step.skipped"))
        return (yield from _still_good(under_way, f"{key}.after")) or "done"
    if answer == "part":
        answer = yield Ask(
            f"{key}.part",
            line("step.part"),
            (
                Option("0.75", line("part.three_quarters")),
                Option("0.5", line("part.half")),
                Option("0.25", line("part.quarter")),
                Option("0", line("part.nothing")),
            ),
            _reads_part(under_way, step),
            name=f"part.{step.key}",
            fixed=True,
        )
    share = 1.0 if answer == "done" else float(str(answer))
    yield from _record(under_way, step, key, share)
    return (yield from _still_good(under_way, f"{key}.after")) or "done"


def _did(under_way: Round, step: Step, key: str, text: Line) -> Ask:
    adds = step.action == "add" and step.product is not None
    dose = Dose(product=step.product or "", grams=step.grams or 0.0, substances=dict(step.substances)) if adds else None
    partly = (Option("part", line("button.part")),) if adds or step.action == "drain" else ()
    return Ask(
        key,
        text,
        (
            Option("done", line("button.done")),
            *partly,
            Option("skip", line("button.skip")),
            Option("stuck", line("button.stuck")),
            Option("/back", line("button.correct")),
        ),
        _reads_part(under_way, step) if partly else None,
        name=f"did.{step.key}",
        dose=dose,
        wait_minutes=step.wait_minutes,
        fixed=True,
    )


def _reads_part(under_way: Round, step: Step) -> Reads:
    planned = step.grams or step.litres or 0.0
    product = under_way.kit.named(step.product or "")

    def read(text: str) -> Heard | Again | None:
        grams = poured(text, planned, product)
        if grams is None or planned <= 0:
            return None
        if grams > 5 * planned:
            return Again(line("step.too_much_to_believe"))
        return Heard(f"{grams / planned:.6g}")

    return read


def _troubles(step: Step) -> tuple[Option, ...]:
    own = (
        (Option("missing", line("stuck.missing")), Option("measuring", line("stuck.measuring"))) if step.product else ()
    )
    return (*own, Option("person", line("stuck.person")), Option("/back", line("button.back")))


def _told(under_way: Round, step: Step, head: Line | None, warned: JsonValue) -> Line:
    assert isinstance(warned, list)
    what: tuple[Line | None, ...]
    match step.action:
        case "add":
            said = amount(step, under_way.kit, under_way.start.person.units)
            what = (line("step.add", amount=said, product=product_name(step.product)), _how(under_way, step))
        case "drain":
            what = (line("step.drain", volume=Volume(step.litres or 0.0)),)
        case "aerate":
            what = (line("step.aerate", span=Span(step.minutes or step.wait_minutes)),)
        case _:
            what = (line("step.retest"),)
    cautions = caution_lines(step, [str(name) for name in warned])
    return lines(shown(head, what[0], why_line(step)), shown(*what[1:]), shown(*cautions))


def _how(under_way: Round, step: Step) -> Line:
    product = under_way.kit.named(step.product or "")
    form = product.form if product else "granules"
    jets = line("step.jets.on", span=Span(step.minutes or 10)) if step.jets == "on" else line("step.jets.off")
    return lines(line(f"step.how.{form}"), jets, gap=" ")


def _record(under_way: Round, step: Step, key: str, share: float) -> Generator[Doing, Any, None]:
    if step.action == "add" and step.product is not None:
        grams = (step.grams or 0.0) * share
        yield Record(
            f"{key}.added",
            Added(
                product=step.product,
                grams=round(grams, 2),
                substances={name: round(part * share, 3) for name, part in step.substances.items()},
                plan_key=under_way.plan_key,
                step=step.key,
                shock=step.why.code == "shock",
            ),
        )
        if share != 1.0:
            yield Say(line("step.recorded", amount=mass(grams, under_way.start.person.units)))
        return
    if step.action == "drain" and step.litres:
        yield Record(f"{key}.refilled", Refilled(litres=step.litres * share))
    yield Record(f"{key}.passed", StepPassed(plan_key=under_way.plan_key, step=step.key, done=True))


def open_stuck(
    start: Start, key: str, reasons: tuple[str, ...], text: str, klass: Literal["danger", "water", "stuck"] = "stuck"
) -> Generator[Doing, Any, None]:
    """Hand over to a technician, unless that is done already for these reasons."""
    case = yield Keep(f"{key}.name", lambda live: new_case(live.journal, start.person))
    yield Record(key, CaseOpened(case=str(case), klass=klass, reasons=reasons, text=text))

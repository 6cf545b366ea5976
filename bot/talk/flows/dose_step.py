"""One step of a plan, from naming the amount to the end of its wait."""

from collections.abc import Generator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from pydantic import JsonValue

from bot.model.fact import Added, Plain, Refilled, StepPassed, Warned
from bot.model.message import Dose
from bot.model.zones import zone
from bot.schedule.journal import facts, open_plan
from bot.schedule.local import allowed
from bot.talk.advice import caution_lines, caution_names, why_line
from bot.talk.amounts import amount, mass, sentences, shown
from bot.talk.flow import Again, Ask, Doing, Heard, Keep, Live, Option, Reads, Record, Say, Start, Wait
from bot.talk.flows.hand_over import hand_over
from bot.talk.names import product_name
from bot.talk.poured import poured
from bot.talk.words import Line, Span, Volume, line, lines
from dosing import Kit, Said, Step

Passed = Literal["done", "uneven", "left", "missing", "person", "taken_over", "stale", "correct", "soaked"]
"""uneven: other than named went in; left: left out; missing: the owner has not got the product; stale: the test behind
the plan is more than a day old; correct: what the dose rests on was told wrong; soaked: somebody bathed since."""
LONG_WAIT = 180
"""Minutes from which on the end of a wait keeps out of the quiet hours."""
CHLORINE = frozenset({"sodium_dichlor", "sodium_hypochlorite", "calcium_hypochlorite"})
"""What sets bromine free from the bromide in a bromine tub."""
FAR_TOO_MUCH = 5.0


@dataclass(frozen=True, slots=True)
class UnderWay:
    """A plan under way: its key in the journal, the kit it draws on, the test it rests on, and the prefix of its
    questions. From `until` on it is too old for a dose, and `late` is said of it. `also` is one more answer to whether
    a step is done, handed back as it is, in place of the correction.
    """

    start: Start
    prefix: str
    plan_key: str
    kit: Kit
    test: Mapping[str, Said]
    until: datetime
    late: str = "step.late"
    also: Option | None = None


@dataclass(frozen=True, slots=True)
class Place:
    """Which step of how many this is; a wait between them is not counted. `after`: the step that was done before."""

    number: int
    of: int
    after: Step | None = None

    @property
    def line(self) -> Line | None:
        """The place in words; nothing for an only step."""
        return line("step.count", number=self.number, of=self.of) if self.of > 1 else None


def take_step(under_way: UnderWay, step: Step, place: Place) -> Generator[Doing, Any, Passed]:
    """Walk the owner through one step and its wait."""
    key = f"{under_way.prefix}{step.key}"
    if place.after:
        found = yield from standing_of(under_way, f"{key}.before")
        if found != "open":
            return found
    passed: Passed = "done"
    if step.action != "wait":
        passed = yield from _do(under_way, step, key, place)
        if passed not in ("done", "uneven"):
            return passed
    if step.wait_minutes:
        yield from _wait(under_way, step, key, place)
    return passed


def standing_of(under_way: UnderWay, key: str) -> Generator[Doing, Any, Literal["open", "taken_over", "stale"]]:
    """Whether the plan is still the one that is open, and its test not too old for another dose."""
    found: Literal["open", "taken_over", "stale"] = yield Keep(key, lambda live: _standing(live, under_way))
    return found


def _standing(live: Live, under_way: UnderWay) -> JsonValue:
    plan = open_plan(live.journal)
    if plan is None or plan[1].plan_key != under_way.plan_key:
        return "taken_over"
    return "stale" if live.now > under_way.until else "open"


def _do(under_way: UnderWay, step: Step, key: str, place: Place) -> Generator[Doing, Any, Passed]:
    text = yield from _told(under_way, step, key, place)
    answer = yield from _answer(under_way, step, key, place, text)
    if answer in ("missing", "person", "correct", "soaked"):
        return answer  # type: ignore[return-value]
    share = {"done": 1.0, "skip": 0.0}.get(answer)
    share = float(answer) if share is None else share
    yield Record(f"{key}.outcome", _outcome(under_way, step, share))
    if step.action == "drain" and step.litres and share:
        yield Record(f"{key}.refilled", Refilled(litres=step.litres * share))
    if not share:
        yield Say(line("step.skipped"))
        return "left"
    if share != 1.0 and step.grams:
        yield Say(line("step.recorded", amount=mass(step.grams * share, under_way.start.person.units)))
    if (yield from standing_of(under_way, f"{key}.after")) == "taken_over":
        return "taken_over"
    return "done" if 0.75 <= share <= 1.25 else "uneven"


def _answer(under_way: UnderWay, step: Step, key: str, place: Place, text: Line) -> Generator[Doing, Any, str]:
    """Ask what became of the step: "done", "skip", "missing", "person", "correct", or the share that went in."""
    times = 0
    while True:
        times += 1
        suffix = "" if times == 1 else f".{times}"
        answer = yield _did(under_way, step, f"{key}.did{suffix}", text, place)
        if answer == "part":
            return str((yield _part(under_way, step, f"{key}.part{suffix}")))
        if answer != "stuck":
            return str(answer)
        trouble = yield Ask(f"{key}.stuck{suffix}", line("step.stuck"), _troubles(step), name="stuck", columns=1)
        if trouble == "person":
            yield from hand_over(under_way.start, f"{key}.case", ("stuck_dose",))
        if trouble in ("person", "missing"):
            return str(trouble)
        text = lines(line("step.measuring"), line("step.once_more", product=product_name(step.product)))


def _did(under_way: UnderWay, step: Step, key: str, text: Line, place: Place) -> Ask:
    adds = step.action == "add" and step.product is not None
    dose = Dose(product=step.product or "", grams=step.grams or 0.0, substances=dict(step.substances))
    partly = adds or step.action == "drain"
    options = [
        Option("done", line("button.done")),
        *([Option("part", line("button.part"))] if partly else []),
        Option("skip", line("button.skip")),
        Option("stuck", line("button.stuck")),
        *([under_way.also or Option("correct", line("button.correct"))] if place.number == 1 else []),
    ]
    return Ask(
        key,
        text,
        tuple(options),
        _reads_part(under_way, step) if partly else None,
        name=f"did.{step.key}",
        dose=dose if adds else None,
        wait_minutes=step.wait_minutes,
        fixed=True,
        undoable=("skip", "stuck", "part", "correct", "soaked"),
        until=under_way.until,
        late=line(under_way.late, product=product_name(step.product)) if adds else None,
    )


def _part(under_way: UnderWay, step: Step, key: str) -> Ask:
    shares = (("0.75", "three_quarters"), ("0.5", "half"), ("0.25", "quarter"), ("0", "nothing"))
    options = tuple(Option(share, line(f"part.{name}")) for share, name in shares)
    reads = _reads_part(under_way, step)
    return Ask(key, line("step.part"), options, reads, name=f"part.{step.key}", fixed=True, undoable=("0",))


def _reads_part(under_way: UnderWay, step: Step) -> Reads:
    planned = step.grams or step.litres or 0.0
    product = under_way.kit.named(step.product or "")

    def read(text: str) -> Heard | Again | None:
        amount = poured(text, planned, product)
        if amount is None or planned <= 0:
            return None
        if amount > FAR_TOO_MUCH * planned:
            return Again(line("step.too_much_to_believe"))
        return Heard(f"{amount / planned:.6g}")

    return read


def _troubles(step: Step) -> tuple[Option, ...]:
    about_product = (Option("missing", line("stuck.missing")), Option("measuring", line("stuck.measuring")))
    own = about_product if step.product else ()
    return (*own, Option("person", line("stuck.person")), Option("/back", line("button.back")))


def _told(under_way: UnderWay, step: Step, key: str, place: Place) -> Generator[Doing, Any, Line]:
    """What is said of a step. Cautions that are said in full for the first time are noted."""
    warned = yield Keep(f"{key}.warned", lambda live: [fact.caution for _, fact in facts(live.journal, Warned)])
    for code, name in caution_names(step).items():
        if name not in warned:
            yield Record(f"{key}.caution.{code}", Warned(caution=name))
    head = shown(place.line, _what(under_way, step), _why(under_way, step))
    product = under_way.kit.named(step.product or "")
    cautions = caution_lines(step, warned, product.form if product else "granules")
    return lines(head, _how(under_way, step), sentences(cautions))


def _why(under_way: UnderWay, step: Step) -> Line:
    tub = under_way.start.tub
    if tub and tub.sanitizer == "bromine" and step.why.code == "sanitizer_low" and CHLORINE & step.substances.keys():
        return lines(why_line(step, under_way.test), line("why.wakes_bromide"), gap=" ")
    return why_line(step, under_way.test)


def _what(under_way: UnderWay, step: Step) -> Line:
    match step.action:
        case "add":
            said = amount(step, under_way.kit, under_way.start.person.units)
            return line("step.add", amount=said, product=product_name(step.product))
        case "drain":
            return line("step.drain", volume=Volume(step.litres or 0.0))
        case "aerate":
            return line("step.aerate", span=Span(step.minutes or step.wait_minutes))
        case _:
            return line("step.retest")


def _how(under_way: UnderWay, step: Step) -> Line | None:
    if step.action != "add":
        return None
    product = under_way.kit.named(step.product or "")
    form = product.form if product else "granules"
    jets = line("step.jets.on", span=Span(step.minutes or 10)) if step.jets == "on" else line("step.jets.off")
    return lines(line(f"step.how.{form}"), jets, gap=" ")


def _outcome(under_way: UnderWay, step: Step, share: float) -> Plain:
    if step.action != "add" or step.product is None or share <= 0:
        return StepPassed(plan_key=under_way.plan_key, step=step.key, done=share > 0)
    return Added(
        product=step.product,
        grams=round((step.grams or 0.0) * share, 2),
        substances={name: round(part * share, 3) for name, part in step.substances.items()},
        plan_key=under_way.plan_key,
        step=step.key,
        shock=step.why.code in ("shock", "oxidise_regularly"),
    )


def _wait(under_way: UnderWay, step: Step, key: str, place: Place) -> Generator[Doing, Any, None]:
    minutes = float(step.wait_minutes)
    if minutes >= LONG_WAIT:
        minutes = yield Keep(f"{key}.minutes", lambda live: _outside_quiet_hours(live, under_way.start, minutes))
    which = "waiting" if place.number < place.of else "rest" if step.action == "wait" else "waiting_last"
    if step.action == "wait" and not place.after:
        which = "first_waits"
    said = line(f"step.{which}", span=Span(minutes))
    reason = why_line(step) if step.action == "wait" else None
    cautions = caution_lines(step, ()) if step.action == "wait" else ()
    yield Wait(f"{key}.wait", minutes, lines(reason, said, sentences(cautions)), wait_minutes=round(minutes))


def _outside_quiet_hours(live: Live, start: Start, minutes: float) -> JsonValue:
    ends = allowed(live.now + timedelta(minutes=minutes), start.person.quiet, zone(start.person.zone))
    return (ends - live.now).total_seconds() / 60

"""A plan that one of the dealer's people decides on: computed, changed step by step, seen beforehand, and sent."""

from collections.abc import Generator, Sequence
from dataclasses import dataclass, replace
from typing import Any

from pydantic import JsonValue

from bot.model.fact import Entry, PlanSent, ReadingTaken
from bot.model.tub import Tub
from bot.schedule.journal import facts, in_danger
from bot.talk.amounts import mass
from bot.talk.bench import PROPOSAL, PROPOSED, Bench, objections_line, sheet
from bot.talk.card import Story
from bot.talk.flow import Again, Ask, Doing, Flow, Heard, Keep, Live, Option, Reads, Record, Say, Start, flow
from bot.talk.flows.pads import READINGS
from bot.talk.flows.staff import cancel, story_in
from bot.talk.measured import measured
from bot.talk.names import product_label, product_name
from bot.talk.poured import poured
from bot.talk.understand import duration, readings
from bot.talk.words import Line, Span, line, lines, verbatim
from dosing import Kit, Product, Proposal, Proposed, converted

MOST_STEPS = 6
MOST_GRAMS = 5000.0


@dataclass(frozen=True)
class Job:
    """The case that a plan is for, as it was when the work on it began."""

    start: Start
    case: str
    name: str
    tub: Tub

    @property
    def kit(self) -> Kit:
        """The products at hand."""
        return self.tub.kit or self.start.dealer.kit


@flow("prescribe")
def prescribe(start: Start) -> Flow:
    """Args: `case`. Begins with what the bot would do; nothing reaches the owner until it is sent."""
    case = str(start.args["case"])
    found = yield Keep("found", lambda live: _found(live, case))
    if not isinstance(found, dict):
        yield Say(line("case.closed_already", case=case) if found is None else line("proposal.no_tub"))
        return None
    job = Job(start, case, str(found["name"]), Tub.model_validate(found["tub"]))
    if not found["tested"] and not (yield from _told_test(job, "first.")):
        return None
    number, items = 0, (yield from _computed(job, "0."))
    while True:
        number += 1
        at = f"{number}."
        kept = yield Keep(f"{at}seen", lambda live, items=items: _foreseen(live, case, items))  # type: ignore[misc]
        proposal = PROPOSAL.validate_python(kept["seen"])
        wish = yield _what_now(job, at, kept["test"], proposal)
        if wish == "cancel":
            yield Say(line("case.nothing_done"))
            return None
        if wish == "send" and (yield from _send(job, at, kept, proposal)):
            return None
        if isinstance(wish, dict) or wish == "test":
            if (yield from _told_test(job, at, wish)):
                items = yield from _computed(job, at)
        elif wish == "change":
            items = yield from _changed(job, at, items)
        elif wish == "add":
            items = yield from _added(job, at, items)


def _what_now(job: Job, at: str, test: JsonValue, proposal: Proposal) -> Ask:
    doses = [step for step in proposal.plan.steps if step.action in ("add", "aerate")]
    options = (
        *([Option("send", line("proposal.do.send"))] if doses and not proposal.grave else []),
        *([Option("change", line("proposal.do.change"))] if doses else []),
        *([Option("add", line("proposal.do.add"))] if len(doses) < MOST_STEPS else []),
        Option("test", line("proposal.do.test")),
        cancel(),
    )
    entry = None if test is None else Entry.model_validate(test)
    text = sheet(job.name, job.tub, entry, proposal, job.start.person.units)
    return Ask(f"{at}what", text, options, _reads_test(job), name="plan")


def _computed(job: Job, at: str) -> Generator[Doing, Any, tuple[Proposed, ...]]:
    """What the bot would do."""
    kept = yield Keep(
        f"{at}computed", lambda live: PROPOSED.dump_python(_bench(live, job.case).computed(), mode="json")
    )
    return PROPOSED.validate_python(kept)


# -- the test


def _told_test(job: Job, at: str, told: JsonValue = None) -> Generator[Doing, Any, bool]:
    """Write down a test that the technician was told; False where they would rather not."""
    if not isinstance(told, dict):
        told = yield Ask(f"{at}test", line("proposal.which_test", name=job.name), (cancel(),), _reads_test(job))
        if told == "cancel":
            yield Say(line("case.nothing_done"))
            return False
    values = READINGS.validate_python(told)
    yield Record(f"{at}reading", ReadingTaken(values=values, method=job.tub.method), tub=job.tub.key)
    return True


def _reads_test(job: Job) -> Reads:
    def read(text: str) -> Heard | Again | None:
        heard = readings(text, sanitizer=job.tub.sanitizer)
        if heard.doubts:
            return Again(line("proposal.doubtful", text=verbatim(heard.doubts[0].text)))
        values = measured(heard.values, job.tub.scale or job.start.dealer.scale)
        return Heard(READINGS.dump_python(values, mode="json")) if values else None

    return read


# -- changing it


def _changed(job: Job, at: str, items: tuple[Proposed, ...]) -> Generator[Doing, Any, tuple[Proposed, ...]]:
    """Change one step: its amount, its product, its place, or whether it is there at all."""
    place = 0
    if len(items) > 1:
        options = tuple(
            Option(str(number), line("proposal.nth", number=number + 1, what=_label(item)))
            for number, item in enumerate(items)
        )
        place = int(str((yield Ask(f"{at}which", line("proposal.which"), options, columns=1))))
    item = items[place]
    product = job.kit.named(item.product or "")
    others = _others(job, item, product)
    how = yield Ask(
        f"{at}how",
        line("proposal.how", what=_named(job, item)),
        (
            Option("amount", line("proposal.do.amount")),
            *([Option("product", line("proposal.do.product"))] if others else []),
            *([Option("up", line("proposal.do.up"))] if place else []),
            *([Option("down", line("proposal.do.down"))] if place < len(items) - 1 else []),
            Option("drop", line("proposal.do.drop")),
            Option("stay", line("proposal.do.stay")),
        ),
    )
    match how:
        case "drop":
            return (*items[:place], *items[place + 1 :])
        case "up" | "down":
            return _swapped(items, place - 1 if how == "up" else place)
        case "amount":
            item = yield from _other_amount(at, item, product)
        case "product":
            item = yield from _other_product(at, item, others)
    return (*items[:place], item, *items[place + 1 :])


def _swapped(items: tuple[Proposed, ...], place: int) -> tuple[Proposed, ...]:
    return (*items[:place], items[place + 1], items[place], *items[place + 2 :])


def _others(job: Job, item: Proposed, product: Product | None) -> dict[str, float]:
    """The other products of the kit that do the same, with the grams that do as much."""
    if product is None:
        return {}
    bromine = job.tub.sanitizer == "bromine"
    found = {
        other.key: converted(item.grams, product, other, bromine=bromine)
        for other in job.kit.products
        if other.key != product.key
    }
    return {key: grams for key, grams in found.items() if grams is not None}


def _other_amount(at: str, item: Proposed, product: Product | None) -> Generator[Doing, Any, Proposed]:
    if product is None:
        minutes = yield Ask(f"{at}minutes", line("proposal.minutes"), (), _reads_minutes)
        return replace(item, minutes=int(str(minutes)))
    grams = yield _how_much(f"{at}grams", product, item.grams)
    return replace(item, grams=float(str(grams)))


def _other_product(at: str, item: Proposed, others: dict[str, float]) -> Generator[Doing, Any, Proposed]:
    options = tuple(Option(key, product_label(key)) for key in others)
    chosen = str((yield Ask(f"{at}product", line("proposal.which_product"), options, columns=1)))
    return replace(item, key=_key(chosen, ()), product=chosen, grams=round(others[chosen], 1))


def _added(job: Job, at: str, items: tuple[Proposed, ...]) -> Generator[Doing, Any, tuple[Proposed, ...]]:
    """One more step, at the end."""
    options = tuple(Option(product.key, product_label(product.key)) for product in job.kit.products)
    chosen = str(
        (yield Ask(f"{at}new", line("proposal.which_product"), (*options, Option("stay", line("button.cancel")))))
    )
    product = job.kit.named(chosen)
    if product is None:
        return items
    grams = yield _how_much(f"{at}grams", product, 0.0)
    return (*items, Proposed(_key(chosen, items), chosen, float(str(grams))))


def _key(product: str, items: Sequence[Proposed]) -> str:
    """A key for a step of this product that no other step has."""
    same = sum(item.product == product for item in items)
    return f"{product}_by_hand{same + 1 if same else ''}"


def _how_much(key: str, product: Product, before: float) -> Ask:
    return Ask(key, line("proposal.how_much", product=product_name(product.key)), (), _reads_amount(product, before))


def _reads_amount(product: Product, before: float) -> Reads:
    def read(text: str) -> Heard | Again | None:
        grams = poured(text, before, product)
        if grams is None:
            return None
        return Heard(round(grams, 1)) if 0 < grams <= MOST_GRAMS else Again(line("proposal.no_amount"))

    return read


def _reads_minutes(text: str) -> Heard | Again | None:
    spoken = duration(text if any(sign.isalpha() for sign in text) else f"{text} minutes")
    minutes = None if spoken is None else round(spoken)
    return None if minutes is None else Heard(minutes) if 1 <= minutes <= 24 * 60 else Again(line("proposal.no_amount"))


def _named(job: Job, item: Proposed) -> Line:
    if item.product is None:
        return _label(item)
    amount = mass(item.grams, job.start.person.units)
    return line("case.dose", product=product_name(item.product), amount=amount)


def _label(item: Proposed) -> Line:
    return product_label(item.product) if item.product else line("proposal.air", span=Span(item.minutes))


# -- sending it


def _send(job: Job, at: str, kept: dict[str, JsonValue], proposal: Proposal) -> Generator[Doing, Any, bool]:
    """Send it, if nothing has changed meanwhile; what speaks against it needs a second tap."""
    if proposal.objections:
        against = lines(objections_line(proposal.objections), line("proposal.sure", name=job.name))
        options = (Option("yes", line("proposal.do.anyway")), Option("no", line("proposal.do.back")))
        if (yield Ask(f"{at}sure", against, options)) == "no":
            return False
    stop = yield Keep(f"{at}stop", lambda live: _stop(live, job, str(kept["newest"])))
    if stop:
        yield Say(line(f"proposal.stop.{stop}", name=job.name, case=job.case))
        return stop not in ("changed", "stale")
    to = yield Keep(f"{at}to", lambda live: _owner(live, job.case))
    key = yield Keep(f"{at}key", lambda live: _plan_key(live, job.case))
    test = kept["test"]
    sent = PlanSent(
        case=job.case,
        to=str(to),
        by=job.start.person.key,
        plan_key=str(key),
        plan=proposal.plan,
        reading=str(test["key"]) if isinstance(test, dict) else None,
        confirmed=tuple(dict.fromkeys(it.code for it in proposal.objections)),
    )
    yield Record(f"{at}sent", sent, tub=job.tub.key)
    yield Say(line("proposal.sent", name=job.name))
    return True


def _stop(live: Live, job: Job, newest: str) -> JsonValue:
    """Why a plan may not be sent now, if so."""
    story = story_in(live, job.case)
    if story is None:
        return "closed"
    if story.state is None or story.state.by != job.start.person.key:
        return "not_yours"
    if not story.reachable:
        return "unreachable"
    if in_danger(story.journal):
        return "danger"
    bench = _bench(live, job.case)
    return "changed" if bench.newest != newest else "stale" if bench.test is None else None


def _owner(live: Live, case: str) -> JsonValue:
    story = story_in(live, case)
    return story.owner.key if story and story.owner else None


def _plan_key(live: Live, case: str) -> JsonValue:
    story = story_in(live, case)
    sent = facts(story.journal, PlanSent, lambda fact: fact.case == case) if story else []
    return f"{case}/{len(sent) + 1}"


# -- what is known


def _found(live: Live, case: str) -> JsonValue:
    story: Story | None = story_in(live, case)
    if story is None:
        return None
    if story.tub is None:
        return "no tub"
    tested = _bench(live, case).test is not None
    return {"name": story.name, "tub": story.tub.model_dump(mode="json"), "tested": tested}


def _bench(live: Live, case: str) -> Bench:
    story = story_in(live, case)
    assert story
    assert story.tub
    return Bench(story.tub, live.known.dealer, story.journal, live.now)


def _foreseen(live: Live, case: str, items: Sequence[Proposed]) -> JsonValue:
    return _bench(live, case).json(items)

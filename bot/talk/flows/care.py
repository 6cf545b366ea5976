"""Care of the water and the tub beside the weekly test: shock, change of water."""

from collections.abc import Generator
from typing import Any

from pydantic import JsonValue

from bot.model.fact import Added, CaseCleared, CaseOpened, FilterCared, Refilled, ReminderAnswered
from bot.model.tub import Tub
from bot.schedule.journal import open_cases
from bot.talk.cases import LASTING, new_case
from bot.talk.flow import Again, Ask, Doing, Flow, Heard, Keep, Live, Next, Option, Reads, Record, Say, Start, flow
from bot.talk.names import product_label, product_name
from bot.talk.poured import poured
from bot.talk.words import line, lines
from dosing import Kit, Product, limits_for

OXIDISER = "potassium_monopersulfate"
SHOCKING = (OXIDISER, "sodium_dichlor", "sodium_hypochlorite", "calcium_hypochlorite")
"""Substances that a tub is oxidised with."""
MOST_GRAMS_PER_1000L = 500.0
"""More than this was mistyped: a multiple of any label's dose (common practice)."""


@flow("shocked")
def shocked(start: Start) -> Flow:
    """The tub was oxidised: with what, and how much of it."""
    kit = kit_of(start)
    products = kit.holding(SHOCKING)
    chosen = yield Ask(
        "product",
        line("shocked.product"),
        (
            *(Option(product.key, product_label(product.key)) for product in products),
            Option("other", line("shocked.other")),
        ),
        columns=1,
    )
    product = kit.named(str(chosen))
    if product is None:
        yield Record("added", Added(shock=True))
    else:
        yield from _how_much(start, product)
    yield Record("answered", ReminderAnswered(what="shock", answer="done"))
    yield Say(line("shocked.noted"))
    return None


def _how_much(start: Start, product: Product) -> Generator[Doing, Any, None]:
    said = yield Ask(
        "grams",
        line("shocked.grams", product=product_name(product.key)),
        (Option("unknown", line("button.dont_know")), Option("/back", line("button.back"))),
        _reads_grams(start.tub, product),
    )
    if said == "unknown":
        yield Record("added", Added(product=product.key, substances=_usual(start, product), shock=True))
    else:
        grams = float(str(said))
        yield Record("added", Added(product=product.key, grams=grams, substances=product.split(grams), shock=True))


def _usual(start: Start, product: Product) -> dict[str, float]:
    """What an oxidiser's usual dose holds: nearer to what went in than nothing, since it takes pH down."""
    volume = start.tub.volume if start.tub else None
    if product.main != OXIDISER or not volume:
        return {}
    return {OXIDISER: round(limits_for(start.dealer.locale).monopersulfate_dose * volume / 1000.0, 1)}


def _reads_grams(tub: Tub | None, product: Product) -> Reads:
    most = MOST_GRAMS_PER_1000L * ((tub.volume if tub else None) or 2000.0) / 1000.0

    def read(text: str) -> Heard | Again | None:
        grams = poured(text, 0.0, product)
        if not grams:
            return None
        return Heard(round(grams, 2)) if grams <= most else Again(line("shocked.too_much"))

    return read


REFILL_STEPS = ("purge", "power_off", "drain", "clean", "filter", "fill", "power_on")


@flow("refill")
def refill(start: Start) -> Flow:
    """A change of water, from the purge of the pipes to the fresh water that is balanced next. Args: `why`, the reason
    of water that is not fit: glass is never moved by the jets.
    """
    steps = tuple(step for step in REFILL_STEPS if (start.args.get("why"), step) != ("glass", "purge"))
    begin = yield Ask(
        "begin",
        line("refill.begin"),
        (Option("yes", line("refill.yes")), Option("no", line("refill.no")), Option("done", line("refill.is_done"))),
        columns=1,
    )
    if begin == "no":
        yield Say(line("refill.not_now"))
        return None
    if begin == "yes":
        for number, step in enumerate(steps, 1):
            if not (yield from _step(start, step, number, len(steps))):
                return None
        yield Record("filter", FilterCared(what="rinse"))
    yield Record("refilled", Refilled())
    yield Record("answered", ReminderAnswered(what="refill", answer="done"))
    yield from _end_lasting_cases()
    return Next("start_up")


def _step(start: Start, step: str, number: int, of: int) -> Generator[Doing, Any, bool]:
    """Walk through one step; False if it went to a technician."""
    skip = (Option("skip", line("button.skip")),) if step == "purge" else ()
    back = Option("/back", line("button.back"))
    done = yield Ask(
        f"did.{step}",
        lines(line("refill.step", number=number, of=of), line(f"refill.{step}"), gap="\n"),
        (Option("done", line("button.done")), *skip, Option("stuck", line("button.stuck")), back),
    )
    if done != "stuck":
        return True
    helped = yield Ask(
        f"stuck.{step}",
        line(f"refill.stuck.{step}"),
        (Option("done", line("refill.works_now")), Option("person", line("button.person")), back),
        columns=1,
    )
    if helped == "done":
        return True
    case = yield Keep(f"case.{step}.name", lambda live: new_case(live.journal, start.person))
    yield Record(f"case.{step}", CaseOpened(case=str(case), klass="stuck", reasons=(f"refill_{step}",)))
    yield Say(line("ask.passed_on"))
    return False


def _end_lasting_cases() -> Generator[Doing, Any, None]:
    """A change of water ends what only a change of water can end."""
    names = yield Keep("lasting", _lasting)
    assert isinstance(names, list)
    for name in names:
        yield Record(f"cleared.{name}", CaseCleared(case=str(name), by="reading", note="refilled"))


def _lasting(live: Live) -> JsonValue:
    cases = open_cases(live.journal)
    return [fact.case for _, fact in cases if fact.klass == "water" and LASTING & set(fact.reasons)]


def kit_of(start: Start) -> Kit:
    """The products at hand: the owner's own, or the dealer's."""
    return start.tub.kit if start.tub and start.tub.kit else start.dealer.kit

"""Adding what goes in by its label, not by a test: metal binder, start-up oxidiser, pH buffer."""

from collections.abc import Generator
from typing import Any, Literal

from bot.model.fact import Added
from bot.model.message import Dose
from bot.model.tub import Tub
from bot.talk.amounts import amount
from bot.talk.flow import Ask, Doing, Option, Record, Start, Wait
from bot.talk.flows.measuring import BACK
from bot.talk.names import product_name
from bot.talk.words import Line, Span, line, lines
from dosing import Kit, Product, Step, Why
from dosing.steps import Measured

What = Literal["binder", "oxidiser", "buffer"]
WAIT_MINUTES: dict[What, int] = {"binder": 30, "oxidiser": 60, "buffer": 60}
"""Until the next product or reading. Common practice; the label goes first."""
WHY: dict[What, Why] = {
    "binder": Why("metals_before_oxidiser"),
    "oxidiser": Why("shock"),
    "buffer": Why("buffer_last"),
}


def add_by_label(start: Start, tub: Tub, what: What, product: Product | None) -> Generator[Doing, Any, None]:
    """Have it added, record it and wait. The amount is the label's; where that is not known, the owner reads it."""
    step = _step(what, product, tub.volume)
    said = amount(step, Kit((product,)), start.person.units) if product and step.grams else None
    answer = yield Ask(
        f"{what}.did",
        lines(_what(what, product, said), line(f"by_label.{what}.how"), gap="\n"),
        (
            Option("done", line("button.done")),
            Option("none", line("by_label.have_none")),
            BACK,
        ),
        name=f"did.{what}",
        dose=Dose(product=step.product, grams=step.grams, substances=dict(step.substances))
        if step.product and step.grams
        else None,
        wait_minutes=WAIT_MINUTES[what],
        fixed=True,
    )
    if answer == "none":
        yield Ask(
            f"{what}.none",
            line(f"by_label.{what}.none"),
            (Option("ok", line("by_label.go_on")), BACK),
            name=f"{what}.none",
        )
        return
    yield Record(
        f"{what}.added",
        Added(
            product=step.product or what,
            grams=step.grams,
            substances=dict(step.substances),
            shock=what == "oxidiser",
        ),
    )
    span = Span(WAIT_MINUTES[what])
    yield Wait(f"{what}.wait", WAIT_MINUTES[what], line("by_label.wait", span=span), wait_minutes=WAIT_MINUTES[what])


def _what(what: What, product: Product | None, said: Line | None) -> Line:
    name = product_name(product.key) if product else line(f"by_label.{what}.name")
    if said is None:
        return line("by_label.add_as_labelled", product=name)
    return line("by_label.add", amount=said, product=name)


def _step(what: What, product: Product | None, litres: float | None) -> Step:
    """The label's dose for this volume, as a step; without grams where the label's rate or the volume is not known."""
    rate = product.label_dose_g_per_1000l if product else None
    if product is None or rate is None or litres is None:
        return Step(what, "add", WHY[what], product=product.key if product else None)
    grams = round(rate * litres / 1000.0, 1)
    measures = tuple(Measured(count, name) for count, name in product.measured(grams))
    return Step(what, "add", WHY[what], product.key, grams, product.split(grams), product.main, measures)

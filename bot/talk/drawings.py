"""Drawings in a reader's words: what is handed to whoever draws them."""

from bot.model.enclosure import PlanDrawing
from bot.talk.amounts import mass
from bot.talk.names import product_name
from bot.talk.words import Words, line
from dosing import Plan


def plan_drawing(words: Words, plan: Plan, volume: float | None, locale: str) -> PlanDrawing | None:
    """A plan on the plane of alkalinity and carbon; None for one that has no place there."""
    if not {"ph", "ta"} <= plan.water.keys() or any(it.key == "ph" for it in plan.assumed):
        return None
    steps = {
        step.key: words.text(
            line("drawing.step", product=product_name(step.product), amount=mass(step.grams or 0.0, words.units))
        )
        for step in plan.steps
        if step.action == "add"
    }
    said = {name: words.text(line(f"drawing.{name}")) for name in _PLANE}
    return PlanDrawing(plan=plan, volume=volume, locale=locale, steps=steps, **said)


_PLANE = ("title", "alkalinity", "carbon", "now", "target", "expected")

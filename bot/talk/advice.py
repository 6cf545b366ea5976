"""What a plan says, in sentences: a catalogue key for every code that `dosing` can give."""

from collections.abc import Collection, Mapping
from types import MappingProxyType
from typing import Any

from bot.talk.amounts import mass
from bot.talk.names import product_name, said_line
from bot.talk.words import Line, Span, has, line
from dosing import Plan, Said, Step
from dosing.readings import POSSIBLE

GENERAL = frozenset({"nobody_in_water", "cover_open", "one_product_at_a_time", "label_rules", "powder_into_water"})
"""Cautions that are the same for every product."""
_SANITIZER = ("fc", "br")
_ABOUT = frozenset({
    "alkalinity_low", "alkalinity_high", "ph_low", "ph_high", "hardness_low", "hardness_high", "sanitizer_low",
    "sanitizer_high", "combined_chlorine", "cyanurate_high",
})  # fmt: skip
"""Reasons that rest on a reading, which is as sure as it was told."""
_PASSING = ("dosing", "retest_first")
"""Reasons against bathing that go without saying while a plan is carried out."""


def said_numbers(numbers: Mapping[str, float]) -> dict[str, float]:
    """The numbers of a reason as they are spoken: pH to one decimal, small ones to one, others whole.

    `sanitizer` stands for whichever of chlorine and bromine is there.
    """
    said = {name: _rounded(name, value) for name, value in numbers.items()}
    found = next((said[name] for name in _SANITIZER if name in said), None)
    return said if found is None else {**said, "sanitizer": found}


def _rounded(name: str, value: float) -> float:
    if name in {"ph", "saturation_index"} or abs(value) < 10:
        return round(value, 1)
    return round(value)


def why_line(step: Step, test: Mapping[str, Said] = MappingProxyType({})) -> Line:
    """Why a step is there, in one sentence; a reading that `test` gives no number for as it was told ("1 to 3")."""
    code, numbers = step.why.code, said_numbers(step.why.numbers)
    if code == "air_lifts_ph" and numbers.get("ph", 0.0) >= numbers.get("aim", 14.0):
        return line("why.air_settles_ph", **numbers)
    if code not in _ABOUT:
        return line(f"why.{code}", **numbers)
    values: dict[str, Any] = {
        name: _about(value, test.get(name)) if name in POSSIBLE else value for name, value in numbers.items()
    }
    if sanitizer := next((values[name] for name in _SANITIZER if name in values), None):
        values["sanitizer"] = sanitizer
    return line(f"why.{code}", **values)


def _about(value: float, said: Said | None) -> Line:
    if said is not None and said.kind != "value":
        return said_line(said)
    return line("value.about", value=value) if value else line("said.value", value=value)


def findings(plan: Plan) -> Line:
    """What the water is doing, in one sentence."""
    codes = dict.fromkeys(step.why.code for step in plan.steps if has(f"finding.{step.why.code}"))
    if codes.keys() & {"ph_high", "alkalinity_high"}:
        codes.pop("air_lifts_ph", None)
    if not codes:
        return line("water.fine" if plan.status == "fine" else "water.unclear")
    return line("water.shows", findings=tuple(line(f"finding.{code}") for code in codes))


def doubt_lines(plan: Plan) -> tuple[Line, ...]:
    """Why readings are not believed; several of the same kind in one sentence."""
    kinds: dict[tuple[str, tuple[tuple[str, float], ...]], list[Line]] = {}
    for doubt in plan.doubts:
        name = line(f"reading.{doubt.reading}") if has(f"reading.{doubt.reading}") else line("reading.strip")
        kinds.setdefault((doubt.code, tuple(said_numbers(doubt.numbers).items())), []).append(name)
    return tuple(
        line(f"doubt.{code}", reading=tuple(names), **dict(numbers)) for (code, numbers), names in kinds.items()
    )


def ask_lines(plan: Plan, *, products: bool | None = None) -> tuple[Line, ...]:
    """What the plan asks for before it can say more; only products that are lacking, or only tests, where said."""
    return tuple(line(f"ask.{code}") for code in plan.asks if products in (None, code.startswith("product_")))


def bathing_line(plan: Plan) -> Line:
    """Whether the readings allow bathing, and from when; never that water is safe."""
    bathing = plan.bathing
    if bathing.allowed:
        return line("bathing.allowed")
    told = [code for code in bathing.reasons if code not in _PASSING] or list(bathing.reasons)
    reasons = tuple(line(f"bathing.{code}") for code in told)
    if bathing.from_minutes is not None:
        return line("bathing.from", span=Span(_half_hours(bathing.from_minutes)), reasons=reasons)
    return line("bathing.not", reasons=reasons) if reasons else line("bathing.not_yet")


def _half_hours(minutes: float) -> float:
    """An estimate is no more exact than half an hour."""
    return minutes if minutes < 60 else max(120.0, round(minutes / 30) * 30.0)


def caution_names(step: Step) -> dict[str, str]:
    """For each caution of a step the name under which it was shown in full: general ones once, others per product."""
    return {code: code if code in GENERAL else f"{code}:{step.product}" for code in step.cautions}


def caution_lines(step: Step, warned: Collection[str], form: str = "granules") -> tuple[Line, ...]:
    """The cautions of a step: in full where they were not shown before, then short, or not at all where nothing short
    is worth a line. `form` is the product's: of a liquid no dust is breathed.
    """
    said = []
    for code, name in caution_names(step).items():
        if name not in warned:
            special = f"caution.{code}.{form}"
            said.append(line(special if has(special) else f"caution.{code}"))
        elif has(f"caution.short.{code}"):
            said.append(line(f"caution.short.{code}"))
    return tuple(said)


def rest_lines(plan: Plan, units: str) -> tuple[Line, ...]:
    """What is expected after the new test: how much more, and over how many days."""
    now = {step.product for step in plan.steps}
    return tuple(
        line("round.rest", count=rest.days, amount=mass(rest.grams, units))
        if rest.product in now
        else line("round.rest_of", count=rest.days, amount=mass(rest.grams, units), product=product_name(rest.product))
        for rest in plan.later
    )

"""What a plan says, in sentences: a catalogue key for every code that `dosing` can give."""

from collections.abc import Collection, Mapping

from bot.talk.amounts import mass
from bot.talk.names import product_name
from bot.talk.words import Line, Span, has, line
from dosing import Plan, Step

GENERAL = frozenset({"nobody_in_water", "cover_open", "one_product_at_a_time", "label_rules", "powder_into_water"})
"""Cautions that are the same for every product."""
_SANITIZER = ("fc", "br")
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


def why_line(step: Step) -> Line:
    """Why a step is there, in one sentence."""
    return line(f"why.{step.why.code}", **said_numbers(step.why.numbers))


def findings(plan: Plan) -> Line:
    """What the water is doing, in one sentence."""
    codes = dict.fromkeys(step.why.code for step in plan.steps if has(f"finding.{step.why.code}"))
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


def ask_lines(plan: Plan) -> tuple[Line, ...]:
    """What the plan asks for before it can say more."""
    return tuple(line(f"ask.{code}") for code in plan.asks)


def bathing_line(plan: Plan) -> Line:
    """Whether the readings allow bathing, and from when; never that water is safe."""
    bathing = plan.bathing
    if bathing.allowed:
        return line("bathing.allowed")
    told = [code for code in bathing.reasons if code not in _PASSING] or list(bathing.reasons)
    reasons = tuple(line(f"bathing.{code}") for code in told)
    if bathing.from_minutes is not None:
        return line("bathing.from", span=Span(bathing.from_minutes), reasons=reasons)
    return line("bathing.not", reasons=reasons) if reasons else line("bathing.not_yet")


def caution_names(step: Step) -> dict[str, str]:
    """For each caution of a step the name under which it was shown in full: general ones once, others per product."""
    return {code: code if code in GENERAL else f"{code}:{step.product}" for code in step.cautions}


def caution_lines(step: Step, warned: Collection[str]) -> tuple[Line, ...]:
    """The cautions of a step: in full where they were not shown before, then short, or not at all where nothing short
    is worth a line.
    """
    said = []
    for code, name in caution_names(step).items():
        if name not in warned:
            said.append(line(f"caution.{code}"))
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

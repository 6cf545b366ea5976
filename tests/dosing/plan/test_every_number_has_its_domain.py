"""Whatever number is handed to a public function: it is taken, or one sentence says what would be right."""

import math
from collections.abc import Callable, Iterable
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
import pytest
from hypothesis import example, given, settings
from hypothesis import strategies as st

from dosing import (
    DEFAULT_KIT,
    Addition,
    Interval,
    Limits,
    Measure,
    Product,
    Proposed,
    Reading,
    Refill,
    Said,
    Soak,
    Water,
    Why,
    active_chlorine,
    add,
    equilibrate,
    foresee,
    from_carbon,
    heat,
    langelier,
    maintenance_step,
    mix,
    plan,
    speciate,
    spend,
)
from dosing.season import Away, Tub, look
from tests.dosing.plan.waters import reading_of

READING = reading_of(fc=4, ph=7.4, ta=80)
WATER = Water(7.4, 80.0)
DICHLOR = DEFAULT_KIT.named("dichlor")
assert DICHLOR


def planned(history: Any = (), **given: Any) -> object:
    return plan(**{"volume": 1300.0, "sanitizer": "chlorine", "reading": READING, "history": history, **given})


def foreseen(number: float = 5.0, **given: Any) -> object:
    about = {"volume": 1300.0, "sanitizer": "chlorine", "reading": READING, **given}
    return foresee([Proposed("a", "dichlor", number)], **about)


def looked(history: Iterable[Any] = (), **given: Any) -> object:
    season = look(Tub(**{"volume": 1300.0, **given}), [Reading(READING.values, hours_ago=30.0), *history])
    return season.now, season.test, season.refill, season.card, season.dose()


def ahead(hours: float) -> object:
    return look(Tub(volume=1300.0), [READING]).forecast([hours])


TAKERS: dict[str, Callable[[float], object]] = {
    "plan: volume": lambda number: planned(volume=number),
    "plan: temperature": lambda number: planned(temperature=number),
    "plan: grams of an addition": lambda number: planned([Addition({"sodium_dichlor": number}, 2.0)]),
    "plan: age of an addition": lambda number: planned([Addition({"sodium_dichlor": 5.0}, number)]),
    "plan: litres of a refill": lambda number: planned([Refill(number, 2.0)]),
    "plan: bathers": lambda number: planned([Soak(number, 30.0, 2.0)]),  # type: ignore[arg-type]
    "plan: minutes of a soak": lambda number: planned([Soak(2, number, 2.0)]),
    "plan: age of a soak": lambda number: planned([Soak(2, 30.0, number)]),
    "plan: age of a reading": lambda number: planned(reading=Reading(READING.values, hours_ago=number)),
    "plan: a reading": lambda number: planned(reading=Reading({**READING.values, "ph": Said.value(number)})),
    "foresee: volume": lambda number: foreseen(volume=number),
    "foresee: grams": foreseen,
    "season: volume": lambda number: looked(volume=number),
    "season: temperature": lambda number: looked(temperature=number),
    "season: bathers a week": lambda number: looked(bathers_a_week=number),
    "season: age of a bottle": lambda number: looked(bottles=(number,)),
    "season: age of the water": lambda number: looked(filled_hours=number),
    "season: days to a refill": lambda number: looked(refill_days=number),
    "season: days to a refill by local rule": lambda number: looked(local_refill_days=number),
    "season: days to a test": lambda number: looked(test_days=number),
    "season: a holiday's beginning": lambda number: looked(away=Away(number, 100.0)),
    "season: a holiday's end": lambda number: looked(away=Away(0.0, number)),
    "season: minutes of a soak": lambda number: looked([Soak(2, number, 2.0)]),
    "season: grams of an addition": lambda number: looked([Addition({"sodium_dichlor": number}, 2.0)]),
    "season: hours ahead": ahead,
    "maintenance_step: grams": lambda number: maintenance_step(DICHLOR, number, Why("idle"), Limits()),
    "Measure: millilitres": lambda number: Measure("cap", number),
    "Product: share": lambda number: Product("mine", {"sodium_dichlor": number}, 1.0),
    "Product: density": lambda number: Product("mine", {"sodium_dichlor": 0.5}, number),
    "Product: grams of a count": lambda number: DICHLOR.grams(number, DICHLOR.measures[0].name),
    "Product: measures of grams": DICHLOR.measured,
    "Product: substances of grams": DICHLOR.split,
    "Interval": lambda number: Interval(number, 8.0),
    "Said": Said.value,
    "Water: pH": lambda number: Water(number, 80.0),
    "Water: alkalinity": lambda number: Water(7.4, number),
    "add": lambda number: add(WATER, "sodium_bicarbonate", number),
    "heat": lambda number: heat(WATER, number),
    "mix": lambda number: mix(WATER, WATER, number),
    "equilibrate": lambda number: equilibrate(WATER, number),
    "spend": lambda number: spend(WATER, number),
    "from_carbon": lambda number: from_carbon(WATER, number),
    "langelier": lambda number: langelier(Water(7.4, number)),
    "speciate": lambda number: speciate(Water(number, 80.0)),
    "active_chlorine": lambda number: active_chlorine(number, 10.0, 7.4, 38.0),
}
NUMBERS = st.one_of(
    st.floats(),
    st.floats(-1e4, 1e4),
    st.sampled_from([math.nan, math.inf, -math.inf, -300.0, -1.0, 0.0, 1e-12, 1e9, 1e308]),
)


def numbers_in(made: object) -> Iterable[float]:
    """Every number of what a function returned."""
    if isinstance(made, float | int | np.ndarray):
        yield from np.ravel(np.asarray(made, dtype=float)).tolist()
    elif isinstance(made, dict):
        for one in made.values():
            yield from numbers_in(one)
    elif isinstance(made, list | tuple):
        for one in made:
            yield from numbers_in(one)
    elif is_dataclass(made):
        for field in fields(made):
            yield from numbers_in(getattr(made, field.name))


@pytest.mark.parametrize("taker", TAKERS)
@settings(deadline=None, max_examples=30)
@given(number=NUMBERS)
@example(number=math.nan)
@example(number=math.inf)
@example(number=-300.0)
def test_a_number_is_taken_or_answered_in_one_sentence(taker: str, number: float) -> None:
    try:
        made = TAKERS[taker](number)
    except ValueError as refused:
        said = str(refused)
        assert said
        assert "\n" not in said
        assert "math domain" not in said
        assert "convert" not in said
        return
    assert not any(math.isnan(found) for found in numbers_in(made)), made


@pytest.mark.parametrize("temperature", [-300.0, -0.1, 60.1, 1e9])
def test_no_tub_has_a_temperature_that_water_in_it_cannot_have(temperature: float) -> None:
    with pytest.raises(ValueError, match="0 to 60 degC"):
        planned(temperature=temperature)

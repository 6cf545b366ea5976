"""A plan's picture: a PNG of a phone's size that shows what the plan does."""

import struct

import pytest

import dosing
from bot.pictures.plane import PlaneWords, _likely, _path, plan_picture
from dosing import Limits, Reading, Said

WORDS = PlaneWords("Plan", "Alkalinity", "Carbon", "now", "fine", "expected")


def plan_of(**values: float) -> dosing.Plan:
    said = {key: Said("value", value, value) for key, value in values.items()}
    return dosing.plan(volume=1300, sanitizer="chlorine", reading=Reading(values=said))


def test_a_plan_is_drawn_as_a_png_that_fits_a_phone() -> None:
    picture = plan_picture(plan_of(fc=1, ph=8.4, ta=180), 1300, Limits(), WORDS)
    assert picture.startswith(b"\x89PNG")
    width, height = struct.unpack(">II", picture[16:24])
    assert 600 <= width <= 1280
    assert width <= height <= 2 * width


def test_water_that_needs_nothing_is_drawn_too() -> None:
    assert plan_picture(plan_of(fc=5, ph=7.4, ta=80), 1300, Limits(), WORDS).startswith(b"\x89PNG")


def test_acid_goes_straight_down_because_it_takes_no_carbon() -> None:
    plan = plan_of(fc=5, ph=8.4, ta=180)
    path = _path(plan, _likely(plan.water), 1300)
    assert path[1][0] == pytest.approx(path[0][0], abs=0.01)
    assert path[1][1] < path[0][1]


def test_what_cannot_be_drawn_is_refused_in_a_sentence() -> None:
    with pytest.raises(ValueError, match="pH and alkalinity"):
        plan_picture(dosing.Plan(status="ask"), 1300, Limits(), WORDS)

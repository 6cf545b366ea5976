"""A plan's picture: a PNG of a phone's size that shows what the plan does."""

import struct
from dataclasses import replace
from itertools import combinations

import pytest

import dosing
from bot.pictures.plane import PlaneWords, _drawn, _likely, _path, plan_picture
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


@pytest.mark.parametrize(("ph", "ta"), [(7.2, 180), (7.4, 180), (8.4, 40), (6.8, 20)])
def test_the_arrows_end_where_the_water_is_expected_and_air_takes_carbon_alone(ph: float, ta: float) -> None:
    plan = plan_of(fc=5, ph=ph, ta=ta)
    path = _path(plan, _likely(plan.water), 1300)
    after = _likely(plan.predicted)
    assert path[-1] == pytest.approx([float(dosing.speciate(after).dic), plan.predicted["ta"].mid], abs=0.3, rel=0.02)
    moved = [step.action for step in plan.steps if step.action in {"add", "aerate"}]
    assert len(path) == len(moved) + 1
    for action, start, end in zip(moved, path, path[1:], strict=False):
        if action == "aerate":
            assert end[0] < start[0]
            assert end[1] == start[1]


@pytest.mark.parametrize(("ph", "ta"), [(7.9, 180), (8.4, 40), (6.8, 20), (6.8, 240), (7.4, 80)])
def test_no_words_of_the_picture_are_cut_off_or_lie_on_others(ph: float, ta: float) -> None:
    figure = _drawn(plan_of(fc=3, ph=ph, ta=ta, ch=50), 1300, Limits(), replace(WORDS, title="T" * 50))
    figure.draw_without_rendering()
    (axes,), (legend,) = figure.axes, figure.legends
    texts = [*axes.texts, axes.title, axes.xaxis.label, *legend.get_texts()]
    texts = [text for text in texts if text.get_text()]
    boxes = {text.get_text(): text.get_window_extent() for text in texts}
    assert all(figure.bbox.x0 <= box.x0 and box.x1 <= figure.bbox.x1 for box in boxes.values())
    assert all(figure.bbox.y0 <= box.y0 and box.y1 <= figure.bbox.y1 for box in boxes.values())
    upright = [text.get_text() for text in texts if text.get_rotation() == 0]
    pairs = [*combinations(upright, 2), *(("T" * 50, name) for name in boxes if name != "T" * 50)]
    assert [(one, other) for one, other in pairs if boxes[one].overlaps(boxes[other])] == []
    assert not legend.get_window_extent().overlaps(axes.get_window_extent())


def test_what_cannot_be_drawn_is_refused_in_a_sentence() -> None:
    with pytest.raises(ValueError, match="pH and alkalinity"):
        plan_picture(dosing.Plan(status="ask"), 1300, Limits(), WORDS)

"""What an owner can look at: the chart of the tests, and the calendar of the care to come."""

from datetime import timedelta
from itertools import pairwise

import pytest

from bot.model.enclosure import CalendarDrawing, CalendarFile, Chart
from bot.model.fact import Added, ReadingTaken, Soaked
from bot.talk.words import languages
from dosing import Said
from tests.talk.world import Actor, World


def seasoned(world: World, **person: str) -> Actor:
    ada = world.owner("Ada", person=dict(person))
    for days, ph in ((20, 8.4), (13, 7.8), (6, 7.2)):
        values = {"fc": Said.value(3.0), "ph": Said.value(ph), "ta": Said.value(120.0)}
        ada.did(ReadingTaken(values=values), ago=timedelta(days=days))
        ada.did(Added(product="bisulfate", grams=20.0, substances={"sodium_bisulfate": 18.6}), ago=timedelta(days=days))
    ada.did(Soaked(bathers=2, minutes=30), ago=timedelta(days=2))
    return ada


def test_a_chart_shows_each_test_with_what_it_may_mean(world: World) -> None:
    ada = seasoned(world)
    ada.says("chart")
    drawing = ada.last.enclosure
    assert isinstance(drawing, Chart)
    ph = next(panel for panel in drawing.panels if panel.name == "pH")
    assert [(mark.low, mark.likely, mark.high) for mark in ph.marks] == [
        (pytest.approx(8.1), 8.4, None), (pytest.approx(7.5), 7.8, pytest.approx(8.1)),
        (pytest.approx(7.0), 7.2, pytest.approx(7.5)),
    ]  # fmt: skip
    assert [len(row.at) for row in drawing.rows] == [3, 1]
    ada.says("history")
    assert any(isinstance(message.enclosure, Chart) for message in ada.new)


def test_a_chart_of_one_test_is_none(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("chart")
    assert ada.last.enclosure is None
    assert "two tests" in ada.text


@pytest.mark.parametrize("language", languages())
def test_the_calendar_comes_as_a_picture_and_as_a_file(world: World, language: str) -> None:
    ada = seasoned(world, language=language, zone="Europe/Paris")
    ada.says("/calendar")
    picture, file = (message.enclosure for message in ada.new)
    assert isinstance(picture, CalendarDrawing)
    assert isinstance(file, CalendarFile)
    assert picture.planned == file.planned
    tasks = {one.task for one in file.planned}
    assert {"test", "refill", "purge", "rinse", "cover", "winter", "replace"} <= tasks
    assert [one.at for one in file.planned] == sorted(one.at for one in file.planned if one.at)
    assert len(ada.new[0].text) <= 1000


def test_nothing_on_the_calendar_lies_in_the_past_and_tests_keep_the_dealers_interval(world: World) -> None:
    ada = seasoned(world)
    ada.says("calendar")
    file = ada.last.enclosure
    assert isinstance(file, CalendarFile)
    days = [one.at for one in file.planned if one.task == "test" and one.at]
    assert all(day > world.clock.now() - timedelta(days=1) for day in days)
    assert all(later - day <= timedelta(days=7, hours=1) for day, later in pairwise(days))


def test_before_the_first_fill_there_is_nothing_to_plan(world: World) -> None:
    ada = world.owner("Ada", running=False)
    ada.says("calendar")
    assert ada.last.enclosure is None
    assert "fill" in ada.text

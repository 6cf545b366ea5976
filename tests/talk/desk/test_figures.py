"""The dealer asks how the house does: the numbers are those of the journal, each tub counted once."""

from datetime import UTC, datetime, time, timedelta

import pytest

from bot.model.dealer import Quiet
from bot.model.enclosure import FiguresDrawing, Share
from bot.model.fact import ReadingTaken
from bot.pictures.make import make
from bot.talk.words import languages
from dosing import Said
from tests.talk.world import World, texts

NEVER = Quiet(start=time(0), end=time(0))
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)


def read(fc: float) -> ReadingTaken:
    return ReadingTaken(values={"fc": Said.value(fc), "ph": Said.value(7.4)})


def house(world: World) -> None:
    """Four tubs: one in range, one out of range, one not tested for long, one with two people."""
    world.owner("Ada", person={"agreed_at": NOON - timedelta(days=12)}).did(read(3), ago=timedelta(days=2))
    world.owner("Bea", person={"agreed_at": NOON - timedelta(days=21)}).did(read(0), ago=timedelta(days=1))
    world.owner("Cleo").did(read(3), ago=timedelta(days=20))
    dan = world.owner("Dan")
    world.owner("Eve", tub=dan)
    dan.did(read(3), ago=timedelta(days=3))


@pytest.mark.parametrize("language", languages())
def test_the_figures_come_as_words_a_picture_and_a_table(language: str) -> None:
    with World(NOON, quiet=NEVER) as world:
        house(world)
        ines = world.staff("Ines", "dealer", language=language)
        ines.says("/numbers")
        pictures = [message.enclosure for message in ines.new if message.enclosure]
        drawn, table = pictures
        assert isinstance(drawn, FiguresDrawing)
        assert [(share.part, share.whole) for share in drawn.shares] == [(2, 3), (3, 4), (0, 0)]
        assert make(drawn).content.startswith(b"\x89PNG")
        assert ",2,3\r\n" in table.content  # type: ignore[union-attr]
        assert ",15,\r\n" in table.content  # type: ignore[union-attr]
        assert "house." not in texts(ines.messages)


def test_nobody_but_the_dealer_is_told() -> None:
    with World(NOON, quiet=NEVER) as world:
        house(world)
        tom, fay = world.staff("Tom"), world.owner("Fay")
        for one in (tom, fay):
            one.says("/numbers").says("numbers")
            assert all(message.enclosure is None for message in one.messages)


def test_an_empty_house_has_figures_too() -> None:
    with World(NOON, quiet=NEVER) as world:
        ines = world.staff("Ines", "dealer")
        ines.says("/numbers")
        assert "0 of 0" in texts(ines.messages)
        empty = FiguresDrawing(title="t", shares=(Share(name="n", part=0, whole=0),))
        assert make(empty).content.startswith(b"\x89PNG")

"""The dealer sees two who may be one side by side, and says what they are."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.model.dealer import Quiet
from bot.model.fact import ReadingTaken
from bot.talk.words import languages
from dosing import Said
from tests.talk.world import HOUSE, Actor, World, texts

NEVER = Quiet(start=time(0), end=time(0))
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
TESTED = ReadingTaken(values={"fc": Said.value(3), "ph": Said.value(7.4)})


@pytest.fixture
def world() -> Iterator[World]:
    with World(NOON, quiet=NEVER) as world:
        yield world


def twice(world: World, *, joined: bool = False) -> Actor:
    """Ada, in the books once more as A. Quill, with her tub."""
    ada = world.owner("Ada", model="Model A5", person={"phones": ("+15125550101",)})
    ada.did(TESTED, ago=timedelta(days=2))
    chat: dict[str, object] = {} if joined else {"address": None}
    again = world.owner("Quill", model="Model A5", serial="S1", person={"phones": ("+15125550101",), **chat})
    again.did(TESTED, ago=timedelta(days=1))
    return ada


def test_one_owner_with_one_tub_has_the_journal_of_both(world: World) -> None:
    ada, dee = twice(world), world.staff("Dee", role="dealer")
    dee.says("/duplicates")
    assert "Ada | Quill" in dee.text
    assert "S1" in dee.text
    dee.taps("Same owner and tub")
    assert "one owner with one tub" in texts(dee.new)
    ada._tub = None
    assert ada.known.tub
    assert (ada.known.tub.key, ada.known.tub.serial) == ("t-ada", "S1")
    assert len(world.facts("reading", ada)) == 2
    assert world.do(world.store.person(HOUSE, "p-quill")) is None
    [merged] = world.facts("acted")
    assert set(merged.about) == {"p-ada", "p-quill", "t-ada", "t-quill"}
    dee.says("/duplicates")
    assert "Nobody is in the books twice" in dee.text
    ada.says("history")
    assert ada.text.count("test: free chlorine 3") == 2


def test_one_owner_may_have_two_tubs(world: World) -> None:
    ada, dee = twice(world), world.staff("Dee", role="dealer")
    dee.says("/duplicates").taps("Same owner, 2 tubs")
    assert {tub.key for tub in ada.known.tubs} == {"t-ada", "t-quill"}


def test_two_who_are_different_are_not_shown_again_and_those_put_off_are(world: World) -> None:
    twice(world)
    dee = world.staff("Dee", role="dealer")
    dee.says("/duplicates").taps("Decide later")
    assert "last one" in dee.text
    dee.says("/duplicates").taps("Different")
    dee.says("/duplicates")
    assert "Nobody is in the books twice" in dee.text
    assert world.facts("acted") == []


def test_two_who_have_both_joined_are_not_made_one(world: World) -> None:
    twice(world, joined=True)
    dee = world.staff("Dee", role="dealer").says("/duplicates")
    assert "Both have joined" in dee.text
    assert dee.buttons == ["Different", "Decide later", "Enough for now"]


def test_a_pair_that_changed_meanwhile_stays_two(world: World) -> None:
    ada = twice(world)
    dee = world.staff("Dee", role="dealer").says("/duplicates")
    moved = ada.person.model_copy(update={"phones": ("+15125550199",)})
    world.do(world.store.put(HOUSE, [moved], [], []))
    dee.taps("Same owner and tub")
    assert "did not work" in dee.text
    assert world.do(world.store.person(HOUSE, "p-quill")) is not None


@pytest.mark.parametrize("language", languages())
def test_duplicates_are_told_in_every_language(language: str) -> None:
    with World(NOON, quiet=NEVER) as world:
        twice(world)
        dee = world.staff("Dee", role="dealer", language=language).says("/duplicates")
        assert all(len(button.label) <= 20 for one in dee.messages for row in one.buttons for button in row)
        dee.answers("same", "both")
        assert "duplicates." not in texts(dee.messages)

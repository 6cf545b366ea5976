"""The dealer asks who needs somebody, sees names, opens a card, and writes or hands over."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.model.dealer import Quiet
from bot.model.fact import ReadingTaken
from bot.talk.buttons import PersonButton, encode
from bot.talk.words import languages
from dosing import Said
from tests.talk.world import Actor, World, texts

NEVER = Quiet(start=time(0), end=time(0))
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
BAD = ReadingTaken(values={"fc": Said.value(0), "ph": Said.value(8.4)})


@pytest.fixture
def world() -> Iterator[World]:
    with World(NOON, quiet=NEVER) as world:
        yield world


def out_of_range(world: World, name: str = "Ada", **more: object) -> Actor:
    owner = world.owner(name, **more)  # type: ignore[arg-type]
    for days in (4, 2):
        owner.did(BAD, ago=timedelta(days=days))
    return owner


def test_names_are_shown_by_what_is_the_matter_and_a_tap_opens_the_card(world: World) -> None:
    ada, ines = out_of_range(world, person={"phones": ("+491713920012",)}), world.staff("Ines", "dealer")
    bo = world.owner("Bo", tub=ada)
    ines.says("who needs me")
    assert "2 owners need a look" in ines.text
    assert "last test out of range: 2" in ines.text
    ines.taps("Out of range")
    assert "Ada, since" in texts(ines.new)
    ines.taps("Ada")
    assert "+491713920012" in ines.text
    assert "Also at this tub: Bo" in ines.text
    assert "pH 8.4" in ines.text
    ines.taps("Chart")
    assert ines.last.enclosure is not None
    assert ada.messages == bo.messages == []


def test_nobody_needs_anything(world: World) -> None:
    ines = world.staff("Ines", "dealer")
    ines.says("/attention")
    assert "Nobody needs anything" in ines.text


def test_from_a_card_the_dealer_writes_to_the_owner(world: World) -> None:
    ada, ines = out_of_range(world), world.staff("Ines", "dealer")
    ines.says("attention").taps("Out of range").taps("Ada").taps("Write")
    ines.says("Shall I come by?")
    assert "Shall I come by?" in texts(ada.messages)


def test_from_a_card_an_owner_is_handed_to_the_technicians_once(world: World) -> None:
    ada, ines, tom = out_of_range(world), world.staff("Ines", "dealer"), world.staff("Tom")
    ines.says("attention").taps("Out of range").taps("Ada").taps("To a technician")
    assert "Ada" in tom.text
    tom.taps("Take it")
    assert len(world.facts("case")) == 1
    ines.taps("Ada").taps_data(encode(PersonButton(ada.person.key, "hand")))
    assert "open case of Ada already" in ines.text
    assert len(world.facts("case")) == 1


def test_without_a_technician_nothing_is_handed_over(world: World) -> None:
    out_of_range(world)
    ines = world.staff("Ines", "dealer")
    ines.says("attention").taps("Out of range").taps("Ada").taps("To a technician")
    assert "no technician" in ines.text
    assert world.facts("case") == []


def test_many_names_come_a_page_at_a_time_and_all_of_them_as_a_table(world: World) -> None:
    for number in range(11):
        out_of_range(world, f"Owner {number}")
    ines = world.staff("Ines", "dealer")
    ines.says("attention").taps("Out of range")
    assert sum(message.text.count("Owner") for message in ines.new) == 8
    ines.taps("More names")
    assert sum(message.text.count("Owner") for message in ines.new) == 3
    assert "More names" not in ines.buttons
    ines.taps("Who needs me").taps("All as a table")
    assert "That is the table" in ines.text
    assert "Everybody who needs a look" in texts(ines.new)
    assert ines.turn is None


@pytest.mark.parametrize("role", ["technician", "owner"])
def test_nobody_but_the_dealer_sees_any_of_it(world: World, role: str) -> None:
    ada = out_of_range(world, person={"phones": ("+491713920012",), "email": "ada@example.org"})
    eve = world.staff("Eve") if role == "technician" else world.owner("Eve")
    for said in ("attention", "/attention", "who needs me"):
        eve.says(said)
    for action in ("card", "chart", "hand"):
        eve.taps_data(encode(PersonButton(ada.person.key, action)))
    assert "+49171" not in texts(eve.messages)
    assert "ada@example.org" not in texts(eve.messages)
    assert "Ada" not in texts(eve.messages)
    assert world.facts("case") == []


@pytest.mark.parametrize("language", languages())
def test_it_is_told_in_the_dealers_language_with_short_labels(world: World, language: str) -> None:
    out_of_range(world)
    ines = world.staff("Ines", "dealer", language=language)
    ines.says("/attention")
    labels = ines.buttons
    ines.answers("which", "out_of_range").taps("Ada")
    assert all(len(label) <= 20 for label in (*labels, *ines.buttons))
    assert "attention." not in texts(ines.messages)

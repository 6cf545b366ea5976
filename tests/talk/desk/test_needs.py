"""The dealer asks who needs what; an owner is asked once for each pack, and never but after what they did."""

from collections.abc import Iterator
from dataclasses import replace
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.model.dealer import Quiet, Supplies
from bot.model.fact import Added, CaseOpened, ReadingTaken
from bot.talk.words import languages
from dosing import DEFAULT_KIT, Kit, Said
from tests.talk.world import Actor, World, texts

NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
PACKED = Kit(tuple(replace(one, pack_g=500.0) for one in DEFAULT_KIT.products))
HOUSE = {"quiet": Quiet(start=time(0), end=time(0)), "kit": PACKED}
OFFER = {**HOUSE, "supplies": Supplies(offer=True)}


def user_of(world: World, name: str = "Ada", **more: object) -> Actor:
    """Somebody whose chlorine lasts two more weeks."""
    owner = world.owner(name, **more)  # type: ignore[arg-type]
    for days in range(36, 0, -7):
        owner.did(Added(product="dichlor", grams=68, substances={"sodium_dichlor": 68}), ago=timedelta(days=days))
    owner.did(ReadingTaken(values={"fc": Said.value(3), "ph": Said.value(7.4)}), ago=timedelta(days=1))
    return owner


@pytest.fixture
def world() -> Iterator[World]:
    with World(NOON, **OFFER) as world:
        yield world


def pours(owner: Actor) -> Actor:
    owner.says("I added 20 g of chlorine granules")
    assert owner.last.asks
    return owner.answers(owner.last.asks, "yes")


@pytest.mark.parametrize("language", languages())
def test_the_dealer_gets_the_packs_in_words_and_the_names_as_a_table(language: str) -> None:
    with World(NOON, **HOUSE) as world:
        user_of(world)
        ines = world.staff("Ines", "dealer", language=language)
        ines.says("/needs")
        [table] = [parcel.made for parcel in world.sent if parcel.made]
        assert table.name == "needs.csv"
        assert b"Ada" in table.content
        assert "needs." not in texts(ines.messages)


def test_nobody_but_the_dealer_gets_the_list() -> None:
    with World(NOON, **HOUSE) as world:
        user_of(world)
        for one in (world.staff("Tom"), world.owner("Fay")):
            one.says("/needs").says("needs")
        assert not [parcel for parcel in world.sent if parcel.made]


def test_an_owner_is_asked_after_pouring_and_once_for_the_pack(world: World) -> None:
    ada = pours(user_of(world))
    assert "Shall Tidewell Tubs put a pack aside for you?" in ada.text
    ada.taps("Yes, please")
    assert "sees it on their list" in ada.text
    world.passes(days=8)
    pours(ada)
    assert "put a pack aside" not in texts(ada.new)
    ines = world.staff("Ines", "dealer")
    ines.says("/needs")
    assert "Asked to put aside: 1." in texts(ines.messages)


def test_whoever_has_another_is_asked_again_when_that_runs_out(world: World) -> None:
    ada = pours(user_of(world))
    ada.taps("I have another")
    [*_, said] = world.facts("supply", ada)
    assert (said.what, said.number) == ("more", 2)
    for _ in range(5):
        world.passes(days=7)
        ada.did(Added(product="dichlor", grams=68, substances={"sodium_dichlor": 68}))
    pours(ada)
    assert [fact.number for fact in world.facts("supply", ada) if fact.what == "offered"] == [1, 2]


def test_whoever_says_nothing_and_goes_on_is_not_asked_again(world: World) -> None:
    ada = pours(user_of(world))
    ada.says("test").says("cancel")
    world.passes(days=8)
    pours(ada)
    assert len([fact for fact in world.facts("supply", ada) if fact.what == "offered"]) == 1


def test_of_a_household_one_is_asked(world: World) -> None:
    ada = user_of(world)
    bo = world.owner("Bo", tub=ada)
    pours(ada)
    world.passes(days=8)
    pours(bo)
    assert "put a pack aside" in texts(ada.messages)
    assert "put a pack aside" not in texts(bo.messages)


def test_nobody_is_asked_in_a_danger_or_where_the_dealer_does_not_want_it(world: World) -> None:
    ada = user_of(world)
    ada.did(CaseOpened(case="c", klass="danger", reasons=("fumes",)))
    ada.says("I added 20 g of chlorine granules")
    with World(NOON, **HOUSE) as quiet:
        pours(user_of(quiet))
        assert quiet.facts("supply") == world.facts("supply") == []


def test_an_offer_is_no_message_that_nobody_asked_for(world: World) -> None:
    ada = user_of(world)
    world.passes(days=3)
    assert "put a pack aside" not in texts(ada.messages)


@pytest.mark.parametrize("language", languages())
def test_the_offer_is_made_in_every_language(language: str) -> None:
    with World(NOON, **OFFER) as world:
        ada = pours(user_of(world, person={"language": language}))
        assert ada.last.asks == "supply"
        assert "Tidewell Tubs" in ada.text
        ada.answers("supply", "no")
        assert ada.last.asks is None

"""Several tubs of one owner: which one is meant is known, named or asked, and every message says it."""

from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.model.dealer import Quiet
from bot.model.fact import Filled, ReadingTaken, StartedUp
from bot.model.person import Invite, digest_of
from bot.model.tub import Tub
from bot.talk.buttons import ReminderButton, encode
from bot.talk.words import languages
from tests.talk.world import HOUSE, Actor, World, texts

NEVER = Quiet(start=time(0), end=time(0))
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def world() -> Iterator[World]:
    with World(NOON, quiet=NEVER) as world:
        yield world


def two_tubs(world: World, name: str = "Ada", **person: object) -> Actor:
    """Ada has a tub in the garden and, newer, one on the roof; both have run for weeks."""
    ada = world.owner(name, person=person)
    garden = ada.tub
    assert garden
    roof = Tub(key="t-roof", dealer=HOUSE, name="Roof", volume=900.0, sanitizer="chlorine")
    named = garden.model_copy(update={"name": "Garden"})
    world.do(world.store.put(HOUSE, [], [named, roof], [(ada.person.key, roof.key)]))
    ada._tub = None
    filled = NOON - timedelta(days=30)
    ada.did(Filled(), at=filled)
    ada.did(StartedUp(), at=filled + timedelta(hours=6))
    return ada


def read_at(world: World) -> list[str | None]:
    """The tubs of the tests, in order."""
    return [entry.tub for entry in world.journal() if isinstance(entry.fact, ReadingTaken)]


def test_it_is_asked_which_tub_is_meant_and_what_was_written_is_about_that(world: World) -> None:
    ada = two_tubs(world)
    ada.says("fc 3 ph 7.4 ta 80")
    assert ada.last.asks == "which_tub"
    assert ada.buttons == ["Garden", "Roof"]
    ada.taps("Garden")
    assert read_at(world) == ["t-ada"]
    assert ada.text.startswith("Garden:\n")


def test_a_command_is_about_the_tub_that_is_chosen_and_that_holds_for_a_while(world: World) -> None:
    ada = two_tubs(world)
    ada.says("my tub").says("roof")
    assert "900 L" in ada.text
    ada.says("history")
    assert ada.last.asks is None
    assert ada.text.startswith("Roof:")
    world.passes(hours=3)
    ada.says("history")
    assert ada.last.asks == "which_tub"


def test_a_tub_that_is_named_is_meant(world: World) -> None:
    ada = two_tubs(world)
    ada.says("Garden: fc 3 ph 7.4 ta 80")
    assert read_at(world) == ["t-ada"]
    world.passes(hours=3)
    ada.says("cancel")
    ada.says("roof, fc 3 ph 7.4 ta 80")
    assert read_at(world) == ["t-ada", "t-roof"]


def test_what_is_open_stays_with_its_tub_while_the_other_is_talked_about(world: World) -> None:
    ada = two_tubs(world)
    ada.says("garden fc 1 ph 7.4 ta 80").taps("Done")
    ada.taps_data("1c.about:t-roof")
    ada.taps_data(encode(ReminderButton("t-roof", "rinse", "done")))
    ada.taps_data(encode(ReminderButton("t-roof", "test", "done")))
    assert ada.text.startswith("Roof:")
    ada.says("fc 5 ph 7.4 ta 80")
    assert read_at(world) == ["t-ada", "t-roof"]
    world.passes(minutes=40)
    assert ada.text.startswith("Garden:")
    ada.says("fc 5 ph 7.4 ta 80")
    assert read_at(world) == ["t-ada", "t-roof", "t-ada"]
    tubs = {entry.tub for entry in world.journal() if entry.fact.kind == "addition"}
    assert tubs == {"t-ada"}


def test_reminders_of_both_come_each_with_its_name_and_an_answer_is_about_its_tub(world: World) -> None:
    ada = two_tubs(world)
    for tub in ("Garden", "Roof"):
        ada.says(f"{tub} fc 5 ph 7.4 ta 80")
        ada.says("cancel")
    world.passes(days=9)
    reminded = [message.text for message in ada.messages if message.lane == "reminder"]
    assert {text.partition(":")[0] for text in reminded} == {"Garden", "Roof"}
    ada.taps_data(encode(ReminderButton("t-ada", "rinse", "done")))
    ada.taps_data(encode(ReminderButton("t-roof", "rinse", "done")))
    assert [entry.tub for entry in world.journal() if entry.fact.kind == "filter"] == ["t-ada", "t-roof"]


def test_a_danger_is_answered_before_any_tub_is_asked_for(world: World) -> None:
    ada = two_tubs(world)
    world.staff("Tom")
    ada.says("I got an electric shock in the water")
    assert ada.last.asks != "which_tub"
    assert len(world.facts("case")) == 1


def test_what_is_written_while_somebody_answers_goes_to_the_case_of_its_tub(world: World) -> None:
    ada = two_tubs(world)
    tom = world.staff("Tom")
    ada.taps_data("1c.about:t-ada").says("person").says("Is my cover warm?")
    tom.taps("Take it").says("Which cover is it?")
    assert ada.text.startswith("Garden:\n")
    world.passes(hours=3)
    ada.says("the grey one")
    assert "the grey one" in texts(tom.new)
    assert {entry.tub for entry in world.journal() if entry.fact.kind == "case_said"} == {"t-ada"}


def test_who_has_one_tub_is_never_asked_and_reads_no_name(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 7.4 ta 80")
    assert read_at(world) == ["t-ada"]
    assert not any(message.asks == "which_tub" or "Tub 1" in message.text for message in ada.messages)


def test_a_tub_gets_a_name_of_its_owner_s_own(world: World) -> None:
    ada = world.owner("Ada").says("tubs").taps("Give it a name").says("x" * 31)
    assert "too long" in ada.text
    ada.says("Terrace")
    assert ada.known.tub
    assert ada.known.tub.name == "Terrace"


def test_an_invite_to_one_more_tub_brings_an_owner_onto_it(world: World) -> None:
    ada, zoe = world.owner("Ada"), world.owner("Zoe")
    invite = Invite(digest=digest_of("s"), dealer=HOUSE, tub="t-zoe", expires=NOON + timedelta(days=1))
    world.do(world.store.put_invite(invite))
    ada.opens("s")
    assert {tub.key for tub in ada.known.tubs} == {"t-ada", "t-zoe"}
    assert "Ada is on your tub now" in zoe.text
    ada.says("Beach")
    assert {tub.key: tub.name for tub in ada.known.tubs} == {"t-ada": "", "t-zoe": "Beach"}
    ada.says("test")
    assert ada.buttons == ["Tub 1", "Beach"]


def test_a_tub_that_is_not_theirs_cannot_be_chosen(world: World) -> None:
    ada = two_tubs(world)
    world.owner("Zoe")
    for data in ("1c.about:t-zoe", "1c.about:", "1c.about:nothing", encode(ReminderButton("t-zoe", "rinse", "done"))):
        ada.taps_data(data)
    assert not [entry for entry in world.journal() if entry.tub == "t-zoe" and entry.person == ada.person.key]
    assert ada.known.tub
    assert ada.known.tub.key != "t-zoe"


@pytest.mark.parametrize("language", languages())
def test_several_tubs_speak_every_language(language: str) -> None:
    with World(NOON, quiet=NEVER) as world:
        ada = two_tubs(world, language=language)
        ada.says("fc 3 ph 7.4 ta 80").taps("Roof")
        ada.taps_data("1c.tubs").answers("tubs", "name").says("Sky")
        assert "tubs." not in texts(ada.messages)
        assert all(len(button.label) <= 20 for one in ada.messages for row in one.buttons for button in row)

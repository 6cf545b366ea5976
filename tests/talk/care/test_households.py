"""Several people on one tub: one is let in by another, one is reminded, whatever one tells counts for all."""

import re
from collections.abc import Iterator
from datetime import UTC, datetime, time, timedelta

import pytest

from bot.model.dealer import Quiet
from bot.model.event import Blocked
from bot.model.fact import ReadingTaken
from bot.talk.words import languages
from dosing import Said
from tests.talk.world import Actor, World, texts

NEVER = Quiet(start=time(0), end=time(0))
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
TESTED = ReadingTaken(values={"fc": Said.value(3), "ph": Said.value(7.4), "ta": Said.value(80)})


@pytest.fixture
def world() -> Iterator[World]:
    with World(NOON, quiet=NEVER) as world:
        yield world


def pair(world: World) -> tuple[Actor, Actor]:
    """Ada, who tested yesterday, and Bo on her tub."""
    ada = world.owner("Ada")
    bo = world.owner("Bo", tub=ada)
    ada.did(TESTED, ago=timedelta(days=1))
    return ada, bo


def invited_by(owner: Actor) -> str:
    """The secret of the link that somebody was given."""
    owner.says("household").taps("Invite somebody")
    [secret] = re.findall(r"rehearsal:(\S+)", texts(owner.new))
    return str(secret)


def reminders(actor: Actor) -> list[str]:
    return [message.text for message in actor.messages if message.lane == "reminder"]


def asked_to_test(actor: Actor) -> list[str]:
    """What the buttons carry with which a test was asked for."""
    buttons = (button for message in actor.messages for row in message.buttons for button in row)
    return [button.data for button in buttons if button.data.endswith(".test.done")]


# -- coming


def test_an_owner_lets_somebody_in_once_and_is_told_who_came(world: World) -> None:
    ada = world.owner("Ada")
    secret = invited_by(ada)
    bo, cy = world.stranger("Bo"), world.stranger("Cy")
    bo.opens(secret)
    assert [person.name for person in bo.known.household] == ["Ada", "Bo"]
    assert "Bo is on your tub now" in ada.text
    cy.opens(secret)
    assert cy.known.person is None
    assert len([one for one in ada.messages if "Bo is on your tub" in one.text]) == 1


def test_the_link_is_stored_nowhere(world: World) -> None:
    secret = invited_by(world.owner("Ada"))
    world.do(world.store.close())
    assert secret.encode() not in b"".join(path.read_bytes() for path in world.folder.glob("world.sqlite*"))
    world.do(world.store.open())


def test_a_newcomer_is_asked_about_themselves_and_not_about_the_tub(world: World) -> None:
    secret = invited_by(world.owner("Ada"))
    bo = world.stranger("Bo").opens(secret)
    asked = []
    while bo.last.asks and len(asked) < 12:
        asked.append(bo.last.asks)
        bo.taps("Skip" if "Skip" in bo.buttons else bo.buttons[0])
    assert not {"full", "volume", "sanitizer"} & set(asked)
    assert bo.known.person
    assert bo.known.person.agreed_at


def test_a_link_ends_after_a_week(world: World) -> None:
    secret = invited_by(world.owner("Ada"))
    world.passes(days=8)
    bo = world.stranger("Bo").opens(secret)
    assert bo.known.person is None
    assert "expired" in bo.text


def test_who_is_on_the_tub_already_does_not_use_the_link_up(world: World) -> None:
    ada, bo = pair(world)
    secret = invited_by(ada)
    bo.opens(secret)
    assert "on that tub already" in bo.text
    cy = world.stranger("Cy").opens(secret)
    assert cy.known.person is not None


def test_a_full_tub_invites_nobody_more(world: World) -> None:
    ada = world.owner("Ada")
    for number in range(7):
        world.owner(f"Mate{number}", tub=ada)
    ada.says("household")
    assert "Invite somebody" not in ada.buttons


# -- whatever one does counts for all


def test_what_one_tells_the_other_sees(world: World) -> None:
    ada, bo = pair(world)
    bo.says("fc 1 ph 7.4 ta 80")
    ada.says("history")
    assert "free chlorine 1" in ada.text


def test_one_of_them_is_reminded_the_one_who_told_of_the_tub_last(world: World) -> None:
    ada, bo = pair(world)
    ada.says("my tub")
    world.passes(days=8)
    assert reminders(ada)
    assert not reminders(bo)
    bo.did(TESTED)
    bo.says("my tub")
    before = len(reminders(ada))
    world.passes(days=8)
    assert reminders(bo)
    assert len(reminders(ada)) == before


def test_who_wants_to_be_reminded_too_is_and_an_answer_of_either_ends_it_for_both(world: World) -> None:
    ada, bo = pair(world)
    bo.says("household").taps("Remind me too")
    while not asked_to_test(ada):
        world.passes(days=1)
    assert len(asked_to_test(ada)) == len(asked_to_test(bo)) == 1
    bo.taps_data(asked_to_test(bo)[0].replace(".done", ".later")).taps("In three days")
    world.passes(days=2)
    assert len(asked_to_test(ada)) == len(asked_to_test(bo)) == 1
    world.passes(days=2)
    assert len(asked_to_test(ada)) == len(asked_to_test(bo)) == 2
    bo.says("household").taps("Remind one of us")
    assert bo.known.person
    assert not bo.known.person.always_reminded


@pytest.mark.parametrize("how", ["away", "stopped", "blocked"])
def test_where_one_gets_no_messages_the_other_is_reminded(world: World, how: str) -> None:
    ada, bo = pair(world)
    if how == "away":
        until = world.clock.now() + timedelta(days=30)
        person = ada.person.model_copy(update={"paused_until": until})
        world.do(world.store.put("house", [person], [], []))
        bo.says("my tub")
    elif how == "stopped":
        ada.says("stop")
    else:
        ada.does(Blocked())
    world.passes(days=8)
    assert reminders(bo)
    assert not reminders(ada)


def test_a_dose_is_named_to_one_even_where_both_are_reminded(world: World) -> None:
    ada, bo = pair(world)
    bo.says("household").taps("Remind me too")
    ada.says("fc 5 ph 7.4 ta 80")
    world.passes(days=6)
    assert any(message.dose for message in ada.messages)
    assert not any(message.dose for message in bo.messages)


def test_a_danger_that_one_tells_of_is_told_to_all_at_once_and_so_is_its_end(world: World) -> None:
    ada, bo = pair(world)
    tom = world.staff("Tom")
    ada.says("I got an electric shock in the water")
    assert "Ada has told me of a danger" in bo.text
    tom.taps("Take it").taps("Clear it")
    while tom.last.asks:
        tom.taps(tom.buttons[0])
    assert "is cleared" in bo.text
    assert len([one for one in bo.messages if "danger" in one.text]) == 2


# -- going


def test_who_leaves_gets_nothing_more_and_the_rest_stays(world: World) -> None:
    ada, bo = pair(world)
    bo.did(TESTED)
    bo.says("my tub")
    bo.says("household").taps("Leave the tub").taps("Leave the tub")
    assert "Bo has left your tub" in ada.text
    assert bo.known.tub is None
    assert [person.name for person in ada.known.household] == ["Ada"]
    told = len(bo.messages)
    world.passes(days=10)
    assert len(bo.messages) == told
    assert reminders(ada)[1:]
    assert len(world.facts("reading", ada)) == 2


def test_who_is_on_no_tub_is_told_so_and_can_come_back_or_be_forgotten(world: World) -> None:
    ada, bo = pair(world)
    bo.says("household").taps("Leave the tub").taps("Leave the tub")
    for text in ("test", "fc 3 ph 7.4", "my tub", "hello", "household"):
        bo.says(text)
        assert "on no tub" in bo.text
    bo.says("I got an electric shock in the water")
    assert "on no tub" not in bo.text
    bo.opens(invited_by(ada))
    assert bo.known.tub == ada.known.tub
    bo.says("household").taps("Leave the tub").taps("Leave the tub")
    bo.says("delete my data").taps(bo.buttons[0])
    assert bo.known.person is None


def test_nobody_leaves_a_tub_alone(world: World) -> None:
    ada = world.owner("Ada").says("household")
    assert "Leave the tub" not in ada.buttons


@pytest.mark.parametrize("language", languages())
def test_households_speak_every_language(language: str) -> None:
    with World(NOON, quiet=NEVER) as world:
        ada = world.owner("Ada", person={"language": language})
        bo = world.owner("Bo", tub=ada, person={"language": language})
        for owner in (ada, bo):
            for value in ("invite", "me_too", "only_one", "leave"):
                owner.taps_data("1c.household").answers("household", value)
        bo.answers("sure", "yes")
        assert bo.known.tub is None
        said = texts([*ada.messages, *bo.messages])
        assert "household." not in said
        assert all(len(button.label) <= 20 for one in bo.messages for row in one.buttons for button in row)

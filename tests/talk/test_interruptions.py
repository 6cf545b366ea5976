"""A plan under way and what comes in between: restarts, a second person, a danger."""

import pytest

from tests.talk.test_dosing_steps import HIGH, through
from tests.talk.world import World, texts

SCRIPT = ("test", "nobody", "1", "8.4", "180", "skip", "only half", "done", "back", "what's open?")


def play(restarts: bool) -> list[str]:
    with World() as world:
        ada = world.owner("Ada")
        for text in SCRIPT:
            ada.says(text)
            if restarts:
                world.restart()
        world.passes(minutes=30)
        if restarts:
            world.restart()
        through(world, ada)
        return [message.text for message in ada.messages]


def test_a_restart_after_every_message_changes_nothing() -> None:
    assert play(restarts=True) == play(restarts=False)


def test_a_second_person_sees_that_it_is_being_worked_on_and_may_leave_it(world: World) -> None:
    ada = world.owner("Ada")
    bo = world.owner("Bo", tub=ada)
    ada.says(HIGH)
    bo.says("test")
    assert "Ada has been working on this tub since" in bo.text
    bo.taps("Leave it to Ada")
    assert bo.conversation.flows == ()
    ada.taps("Done")
    assert len(world.facts("plan")) == 1


def test_whoever_takes_over_gets_a_plan_of_their_own_and_the_first_one_stops(world: World) -> None:
    ada = world.owner("Ada")
    bo = world.owner("Bo", tub=ada)
    ada.says(HIGH)
    bo.says("test").taps("I take over")
    assert "Bo has taken over" in ada.text
    bo.taps("Nobody")
    bo.says(HIGH)
    assert bo.last.dose
    assert [closed.how for closed in world.facts("plan_closed")] == ["superseded"]
    ada.taps("Done")
    assert "begun a new plan" in ada.text
    assert len(world.facts("addition")) == 1
    assert ada.conversation.flows == ()


def test_a_danger_pauses_the_plan_and_it_goes_on_when_staff_have_cleared_it(world: World) -> None:
    ada = world.owner("Ada")
    tom = world.staff("Tom")
    ada.says("fc 1 ph 8.4 ta 180").taps("Done")
    wait = ada.last.wait_minutes or 0
    ada.says("I felt a shock when I touched the water")
    count = len(ada.messages)
    world.passes(minutes=wait + 5)
    assert len(ada.messages) == count, "no dose is named while a danger is open"
    ada.says("fc 1 ph 8.4 ta 180")
    assert ada.last.dose is None
    tom.taps("Clear it")
    ada.taps("Go on")
    assert ada.last.dose


def test_an_old_button_is_answered_with_what_is_open_now(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Nobody")
    old = ada.button("3").data
    ada.taps("3")
    ada.taps_data(old)
    assert "answered that already" in texts(ada.new)
    assert ada.last.asks == "ph"


def test_asking_for_a_test_in_the_middle_of_a_plan_goes_on_with_the_plan(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 8.4 ta 180")
    world.passes(minutes=5)
    ada.taps("Done").says("test")
    assert "plan is under way" in ada.text
    assert ada.last.wait_minutes
    ada.says("start over")
    assert ada.last.asks == "soaks", "what was read before the dose is no reading of the water now"


def test_a_plan_of_last_week_does_not_keep_from_a_new_test(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    world.passes(days=7)
    ada.says("test")
    assert ada.last.asks == "soaks"
    ada.taps("Nobody").says("fc 3 ph 7.4 ta 180")
    assert "superseded" in [closed.how for closed in world.facts("plan_closed")]


@pytest.mark.parametrize(
    "what",
    ["photo", "/start", "back", "open", "start over", "fill", "help", "person", "settings", "bathed", "old button"],
)
def test_no_dose_is_named_while_a_danger_is_open_whatever_comes(world: World, what: str) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    dose = ada.text
    done = ada.button("Done").data
    ada.says("I felt a tingle when I touched the water")
    before = len(ada.messages)
    match what:
        case "photo":
            ada.sends("photo")
        case "/start":
            ada.opens()
        case "old button":
            ada.taps_data(done)
        case words:
            ada.says(words)
    ada.says("back").says("cancel").says("what's open?")
    assert dose
    assert not [message for message in ada.messages[before:] if message.dose or "Add " in message.text]


def test_a_person_in_danger_may_ask_for_somebody_and_be_forgotten(world: World) -> None:
    tom = world.staff("Tom")
    ada = world.owner("Ada")
    ada.says(HIGH).says("I felt a tingle when I touched the water")
    ada.says("person").says("please ring me at once")
    assert "please ring me at once" in tom.text
    ada.says("delete my data").says("yes")
    assert ada.known.person is None

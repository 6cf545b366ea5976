"""A change of water step by step, and questions that a person answers."""

import pytest

from tests.talk.world import World


def refilled(world: World):  # type: ignore[no-untyped-def]
    ada = world.owner("Ada")
    ada.taps_data("1r.t-ada.refill.done").taps("Begin")
    while ada.last.asks and ada.last.asks.startswith("did."):
        ada.taps("Done")
    return ada


def test_a_change_of_water_is_walked_through_and_goes_on_with_the_start_up(world: World) -> None:
    ada = refilled(world)
    assert len(world.facts("refill")) == 1
    assert ada.turn
    assert ada.turn.open.flow == "start_up"
    steps = [message.asks for message in ada.messages if (message.asks or "").startswith("did.")]
    assert steps[:7] == [f"did.{s}" for s in ("purge", "power_off", "drain", "clean", "filter", "fill", "power_on")]


def test_power_is_off_before_draining_and_on_only_when_full(world: World) -> None:
    ada = refilled(world)
    order = [message.asks for message in ada.messages]
    assert (
        order.index("did.power_off") < order.index("did.drain") < order.index("did.fill") < order.index("did.power_on")
    )


def test_one_who_is_stuck_gets_causes_first_and_then_a_technician(world: World) -> None:
    ada, tom = world.owner("Ada"), world.staff("Tom")
    ada.taps_data("1r.t-ada.refill.done").taps("Begin").taps("Skip").taps("Stuck")
    assert "breaker" in ada.text
    ada.taps("Ask a person")
    assert [fact.klass for fact in world.facts("case")] == ["stuck"]
    assert "power off" in tom.text


def test_a_case_of_slime_ends_with_the_change_of_water(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("there are slimy flakes coming out of the jets")
    (case,) = world.facts("case")
    assert case.klass == "water"
    ada.says("change the water").taps("It's done already")
    assert [fact.case for fact in world.facts("cleared")] == [case.case]


def test_a_question_reaches_the_technician_and_the_answer_comes_back_as_written(world: World) -> None:
    ada, tom = world.owner("Ada"), world.staff("Tom")
    ada.says("I want to talk to a person")
    if ada.last.asks == "question":
        ada.says("Can I use an old cover?")
    assert "A person will answer you here" in ada.text
    tom.taps("Take it").says("Yes, if it <locks> & fits.")
    assert "Tom" in ada.text
    assert "Yes, if it <locks> & fits." in ada.text
    tom.taps("Close it").taps("Solved").taps("Skip")
    assert len(world.facts("cleared")) == 1


def test_a_question_without_staff_is_kept(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("person").says("Is my cover waterproof?")
    assert [fact.text for fact in world.facts("case")] == ["Is my cover waterproof?"]


def test_my_tub_says_what_is_known_and_what_comes_next(world: World) -> None:
    ada = world.owner("Ada", volume=1300.0)
    ada.says("my tub")
    assert "1,300 L" in ada.text
    assert "What comes next" in ada.text
    assert set(ada.buttons) >= {"Test the water", "History", "Help"}


def test_history_shows_tests_and_doses_in_words(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 7.4 ta 80").taps("Done")
    ada.says("history")
    assert "test: free chlorine 1, pH 7.4" in ada.text
    assert "added" in ada.text


@pytest.mark.parametrize(
    "words", ["my tub", "history", "pause", "reminders", "quiet hours", "units", "settings", "person"]
)
def test_no_message_is_longer_than_a_phone_shows(world: World, words: str) -> None:
    ada = world.owner("Ada")
    ada.says(words)
    assert 0 < len(ada.text) < 700
    assert all(len(label) <= 20 for label in ada.buttons)

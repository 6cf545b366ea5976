"""The bot itself asks a person to look: its plans do not work, or the tests make no sense."""

from tests.talk.crew import Crew
from tests.talk.world import Actor, texts


def read_off(ada: Actor, **values: str) -> None:
    for pad, value in values.items():
        ada.answers(pad, value)


def carries_out(crew: Crew) -> None:
    """Ada does every step as told, and waits."""
    while (asks := crew.ada.last.asks) is None or asks.startswith("did."):
        if asks:
            crew.ada.taps("Done")
        else:
            crew.world.passes(minutes=crew.ada.last.wait_minutes or 30)


def test_two_plans_in_a_row_that_did_nothing_bring_a_technician(crew: Crew) -> None:
    crew.ada.says("test").taps("Nobody")
    read_off(crew.ada, fc="0.5", ph="7.4", ta="80", ch="150")
    carries_out(crew)
    read_off(crew.ada, fc="0.5", ph="7.4", ta="80")
    assert crew.world.facts("case") == []
    carries_out(crew)
    read_off(crew.ada, fc="0.5", ph="7.4", ta="80")
    (case,) = crew.world.facts("case")
    assert case.reasons == ("plan_failed",)
    assert "Two plans in a row did less" in texts(crew.ada.messages)
    assert "two plans did less than they should" in crew.tom.text


def test_two_tests_in_a_row_that_make_no_sense_bring_a_technician(crew: Crew) -> None:
    crew.ada.says("fc 5 tc 1 ph 7.4 ta 80")
    assert crew.world.facts("case") == []
    crew.ada.answers("again", "now")
    crew.ada.says("fc 5 tc 1 ph 7.4 ta 80")
    (case,) = crew.world.facts("case")
    assert case.reasons == ("doubted_reading",)
    assert "readings in doubt" in crew.tom.text
    assert all(message.dose is None for message in crew.ada.messages)


def test_what_was_doubted_twice_is_not_asked_for_a_third_time_the_same_day(crew: Crew) -> None:
    crew.ada.says("fc 5 tc 1 ph 7.4 ta 80").answers("again", "now")
    crew.ada.says("fc 5 tc 1 ph 7.4 ta 80")
    assert crew.ada.conversation.flows == ()
    assert "Next test" in texts(crew.ada.new)


def test_a_sitting_says_once_that_its_plans_did_too_little(crew: Crew) -> None:
    crew.ada.says("test").taps("Nobody")
    read_off(crew.ada, fc="0.5", ph="7.4", ta="80", ch="150")
    for _ in range(4):
        carries_out(crew)
        read_off(crew.ada, fc="0.5", ph="7.4", ta="80")
    assert texts(crew.ada.messages).count("Two plans in a row did less") == 1

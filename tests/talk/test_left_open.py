"""What is no answer to a question leads on, and a question is not repeated at every word to a technician."""

import pytest

from tests.talk.world import World


@pytest.mark.parametrize(
    ("language", "words", "said"),
    [
        ("en", "tomorrow please", "can wait"),
        ("de", "später", "kann warten"),
        ("fr", "pas maintenant", "peut attendre"),
        ("es", "ahora no", "puede esperar"),
    ],
)
def test_what_is_put_off_stays_open_and_comes_back_when_asked_for(language: str, words: str, said: str) -> None:
    with World() as world:
        ada = world.owner("Ada", person={"language": language}).says("/test")
        asked = ada.last.asks
        ada.says(words)
        assert said in ada.text
        assert ada.last.asks is None
        ada.taps(ada.buttons[0])
        assert ada.last.asks == asked


def test_who_does_not_know_is_told_of_the_ways_out() -> None:
    with World() as world:
        ada = world.owner("Ada").says("/quiet")
        asked = ada.last.asks
        ada.says("no idea")
        assert "ask a person" in ada.text
        assert ada.last.asks == asked


@pytest.mark.parametrize(("words", "flows"), [("tomorrow", 0), ("later", 0), ("no idea", 1)])
def test_a_doubted_test_can_be_left_for_another_day(words: str, flows: int) -> None:
    with World() as world:
        ada = world.owner("Ada").says("cya 100 fc 4 ph 7.6 ta 70 hardness 150")
        if ada.last.asks == "again":
            ada.says(words)
            assert len(ada.conversation.flows) == flows
            assert "understand" not in ada.text


def test_a_question_is_brought_back_once_beside_what_goes_to_a_technician() -> None:
    with World() as world:
        tom = world.staff("Tom")
        ada = world.owner("Ada").says("/person").says("it hums a little since tuesday")
        tom.taps("Take it")
        ada.says("/test")
        asked = ada.last.asks
        ada.says("it is the pump on the left, i believe")
        assert ada.last.asks == asked
        ada.says("and only in the evening")
        assert ada.last.asks is None
        ada.says("0" if asked == "soaks" else "3")
        ada.says("by the way it got louder")
        assert ada.last.asks not in (None, asked)

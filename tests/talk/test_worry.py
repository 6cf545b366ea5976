"""Under the rules of danger: a question where a text sounds like it, a tap where nothing was understood."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.talk.understand import flags, suspicion
from bot.talk.understand.suspicion import IN_SAYINGS, KINDS, PLACES, sounds_harmless, table
from tests.talk.understand.test_flags import RED
from tests.talk.world import World

UNLISTED = "since he climbed out grandpa has been staring at the wall and mumbling odd things to us"


def test_a_danger_in_words_of_no_rule_is_asked_about_first() -> None:
    assert flags(UNLISTED) == ()
    with World() as world:
        ada = world.owner("Ada").says(UNLISTED)
        assert "is anybody hurt" in ada.text
        assert {"Yes", "No"} <= set(ada.buttons)


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", UNLISTED),
        ("de", "seit er draußen ist starrt opa die wand an und murmelt seltsame sachen vor sich hin"),
        ("fr", "depuis qu'il est sorti papi fixe le mur et marmonne des trucs bizarres"),
        ("es", "desde que salió el abuelo mira la pared y murmura cosas raras"),
    ],
)
def test_the_question_says_already_to_get_out_and_whom_to_call(language: str, text: str) -> None:
    with World() as world:
        ada = world.owner("Ada", person={"language": language, "zone": "Europe/London"}).says(text)
        assert world.facts("case") == []
        assert "999" in ada.text
        assert any(out in ada.text for out in ("out of the water", "raus aus dem", "sortez de", "fuera del agua"))


def test_yes_tells_whom_to_call_and_opens_a_case_of_danger() -> None:
    with World() as world:
        ada = world.owner("Ada").says(UNLISTED).taps("Yes")
        assert "911" in ada.text or "112" in ada.text or "call" in ada.text.lower()
        assert [fact.klass for fact in world.facts("case")] == ["danger"]


def test_no_goes_on_and_opens_no_case() -> None:
    with World() as world:
        ada = world.owner("Ada").says(UNLISTED).taps("No")
        assert ada.text
        assert world.facts("case") == []


def test_what_was_not_understood_carries_one_tap_for_danger() -> None:
    with World() as world:
        ada = world.owner("Ada").says("qwertz asdfg")
        assert "Danger or accident" in ada.buttons
        ada.taps("Danger or accident")
        assert "Smoke or burning" in ada.buttons
        assert [fact.klass for fact in world.facts("case")] == ["danger"]
        ada.taps("Smoke or burning")
        assert len(world.facts("case")) == 1


@pytest.mark.parametrize("text", ["ph 7.4 ta 90 cl 3", "test", "thanks!", "0", "7,4 y 0", "done"])
def test_what_answers_for_itself_is_not_asked_about(text: str) -> None:
    with World() as world:
        ada = world.owner("Ada").says(text)
        assert "Before we go on" not in ada.text


def test_the_danger_in_the_middle_of_a_long_tale_is_not_drowned() -> None:
    tale = "we had a lovely evening with friends and the garden was full of lanterns and music. " * 6
    assert suspicion(f"{tale}{UNLISTED}. {tale}") is not None


def test_the_table_has_a_row_for_each_place_and_one_more() -> None:
    assert len(table()) == (PLACES + 1) * len(KINDS)


@given(st.text(max_size=300))
def test_any_text_has_an_answer(text: str) -> None:
    assert suspicion(text) in {None, *KINDS[1:]}


SAYINGS = [
    ("en", "coughed up 40 bucks for strips"),
    ("en", "he's passed out on the sofa after the match, not the tub"),
    ("de", "bein eingeschlafen auf dem sofa, kribbelt"),
    ("de", "rauch vom osterfeuer zieht rüber, deckel zu?"),
    ("es", "me ahogo en trabajo, mañana hago el test"),
    ("fr", "la fumée du feu de la saint-jean arrive, je ferme ?"),
]


@pytest.mark.parametrize(("language", "text"), SAYINGS)
def test_danger_words_in_a_harmless_sentence_are_asked_about_before_any_alarm(language: str, text: str) -> None:
    assert flags(text)
    with World() as world:
        world.owner("Ada", person={"language": language}).says(text)
        assert world.facts("case") == []


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "the water went green and he wont stop shaking"),
        ("es", "hay espuma y mi padre se puso muy raro dentro"),
    ],
)
def test_a_text_with_a_talk_of_its_own_is_asked_about_first_where_it_sounds_grave(language: str, text: str) -> None:
    assert flags(text) == ()
    with World() as world:
        ada = world.owner("Ada", person={"language": language}).says(text)
        assert ada.conversation.flows[-1].flow == "worry"


def test_danger_words_that_alone_fill_a_text_are_an_alarm_at_once() -> None:
    with World() as world:
        world.owner("Ada").says("smoke!")
        assert [fact.klass for fact in world.facts("case")] == ["danger"]


@pytest.mark.parametrize("text", ["i have a rash", "my eyes sting", "the breaker tripped once", "it smells"])
def test_the_first_question_about_bodies_and_current_carries_the_tap_for_danger(text: str) -> None:
    assert not flags(text)
    with World() as world:
        ada = world.owner("Ada").says(text)
        assert ada.buttons.count("Danger or accident") == 1 or "Before we go on" in ada.text


def test_no_sentence_that_is_known_as_danger_is_only_asked_about() -> None:
    told = [text for _, number, text in RED if number in IN_SAYINGS and flags(text)]
    assert [text for text in told if sounds_harmless(text)] == []

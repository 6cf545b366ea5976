"""What a text says already of a symptom is not asked again; what it denies is not taken for said."""

import pytest

from bot.talk.guides import told_answer


@pytest.mark.parametrize(
    "text",
    [
        "foam, no soap",
        "thick foam, nobody used soap",
        "foam but no bubble bath or soap in it",
        "foam. I didn't put any soap in",
        "Schaum, keine Seife drin",
        "mousse, pas de savon",
        "espuma, sin jabón",
    ],
)
def test_soap_that_is_denied_is_no_soap(text: str) -> None:
    answer = told_answer("foam", text)
    assert answer
    assert answer.key == "no_soap"


@pytest.mark.parametrize(
    ("what", "text", "key"),
    [
        ("foam", "no idea why, bubble bath got in, foam", "soap"),
        ("foam", "no filter problem. soap got in", "soap"),
        ("cloudy", "so cloudy I can't see the floor", "no_floor"),
        ("sanitizer_vanishes", "chlorine gone and nobody was in", "nobody"),
        ("green", "green but clear", "see_through"),
    ],
)
def test_what_is_said_is_an_answer(what: str, text: str, key: str) -> None:
    answer = told_answer(what, text)
    assert answer
    assert answer.key == key


@pytest.mark.parametrize(("what", "text"), [("flakes", "white bits, not soft"), ("smell", "a smell, not musty")])
def test_what_is_denied_and_has_no_opposite_is_asked(what: str, text: str) -> None:
    assert told_answer(what, text) is None

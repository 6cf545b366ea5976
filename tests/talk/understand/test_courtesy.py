"""A greeting or thanks, and nothing else, is told from everything that asks for something."""

import pytest

from bot.talk.understand import courtesy


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("hi", "hello"),
        ("Hi there!", "hello"),
        ("good morning", "hello"),
        ("thanks, hello again", "hello"),
        ("hola", "hello"),
        ("Bonjour", "hello"),
        ("Guten Abend", "hello"),
        ("thank you for the help", "thanks"),
        ("thx 🙏", "thanks"),
        ("Vielen Dank!", "thanks"),
        ("merci beaucoup", "thanks"),
        ("muchas gracias", "thanks"),
    ],
)
def test_courtesy_is_heard(text: str, meant: str) -> None:
    assert courtesy(text) == meant


@pytest.mark.parametrize(
    "text", ["", "ok", "no", "for you", "hello fc 3", "hi the water is green", "thanks but it is cloudy", "help", "42"]
)
def test_what_says_more_is_no_mere_courtesy(text: str) -> None:
    assert courtesy(text) is None

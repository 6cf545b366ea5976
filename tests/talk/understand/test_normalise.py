import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.talk.understand import MAX_CHARS, normalise


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("7.4", "7.4"),
        ("７．４", "7.4"),
        ("٧٫٤", "7.4"),
        ("۷٫۴", "7.4"),
        ("७.४", "7.4"),
        ("−1", "-1"),
        ("7.2 – 7.8", "7.2 - 7.8"),
        ("7½", "7.5"),
        ("½", "0.5"),
        ("7\u200b.4", "7.4"),
        ("\u202e7.4\u202c", "7.4"),
        ("PH", "ph"),
        ("don’t", "don't"),
        ("38 ℃", "38 °c"),
        ("38ºC", "38°c"),
        ("2 m³", "2 m3"),
        ("a\u00a0b", "a b"),
        ("a \r\n\n b", "a\nb"),
        ("7·4", "7.4"),
        ("STRASSE straße", "strasse strasse"),
    ],
)
def test_what_keyboards_produce_takes_one_plain_form(typed: str, plain: str) -> None:
    assert normalise(typed) == plain


@given(st.text())
def test_normalising_twice_changes_nothing(text: str) -> None:
    once = normalise(text)
    assert normalise(once) == once


@settings(max_examples=20, deadline=None)
@given(st.text(min_size=1, max_size=20))
def test_a_long_text_is_cut_to_the_cap(text: str) -> None:
    once = normalise(text * (2 * MAX_CHARS))
    assert len(once) <= MAX_CHARS
    assert normalise(once) == once


@given(st.text())
def test_no_control_or_invisible_character_is_left(text: str) -> None:
    assert not any(c in normalise(text) for c in "\u200b\u200e\u200f\u202a\u202e\u2066\u2069\ufeff\x00")

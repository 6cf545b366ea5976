"""Cutting long texts."""

from hypothesis import given
from hypothesis import strategies as st

from bot.channels.telegram.parts import split, units

TEXTS = st.text(st.sampled_from("ab <&\n\N{BATHTUB}\u0301\u200d\N{WOMAN}"), max_size=300)


@given(TEXTS, st.integers(4, 40))
def test_parts_fit_and_lose_nothing_but_blanks(text: str, longest: int) -> None:
    parts = split(text, longest)
    assert all(0 < units(part) <= longest for part in parts)
    assert "".join("".join(parts).split()) == "".join(text.split())


@given(TEXTS)
def test_a_text_that_fits_stays_whole(text: str) -> None:
    assert split(text, 1000) == ([text.strip()] if text.strip() else [])


def test_emoji_count_twice() -> None:
    assert [units(part) for part in split("\N{BATHTUB}" * 4096)] == [4096, 4096]


def test_it_cuts_at_line_ends_before_blanks() -> None:
    assert split("one two\nthree four five", 12) == ["one two", "three four", "five"]


def test_a_family_of_joined_emoji_is_not_torn_apart() -> None:
    family = "\N{WOMAN}\u200d\N{GIRL}"
    assert split("aaaa" + family, 8) == ["aaaa", family]

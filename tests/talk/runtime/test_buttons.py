"""What a button carries comes back as it was, and anything else is told apart without an error."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.talk.buttons import (
    AnswerButton,
    CaseButton,
    CommandButton,
    PersonButton,
    Pressed,
    ReminderButton,
    RoundButton,
    decode,
    encode,
)

key = st.text("abcdefghijklmnopqrstuvwxyz0123456789-_", min_size=1, max_size=12)
number = st.integers(0, 10**6)
pressed = st.one_of(
    st.builds(AnswerButton, number, number, number),
    st.builds(CommandButton, key),
    st.builds(ReminderButton, key, key, key),
    st.builds(CaseButton, key, key),
    st.builds(RoundButton, key, key),
    st.builds(PersonButton, key, key),
)


@given(pressed)
def test_a_button_comes_back_as_it_was_sent(button: Pressed) -> None:
    data = encode(button)
    assert len(data.encode()) <= 64
    assert decode(data) == button


@given(st.text(max_size=80))
def test_no_text_whatever_raises(data: str) -> None:
    found = decode(data)
    assert found is None or decode(encode(found)) == found


@pytest.mark.parametrize(
    "data", ["", "1a.1.2", "1a.x.2.3", "1a.1.2.-3", "1a.1.2.²", "2a.1.2.3", "1c.", "1r.t.test", "x"]
)
def test_data_that_we_never_made_means_nothing(data: str) -> None:
    assert decode(data) is None


def test_a_button_that_would_not_fit_is_refused() -> None:
    with pytest.raises(ValueError, match="64 bytes"):
        encode(CaseButton("x" * 70, "answer"))

"""What no database can hold is not what people are kept waiting for."""

import pytest

from bot.model.event import Sent, Wrote
from tests.talk.world import World

HALF = "\ud83d"
"""The first half of an emoji, as a phone sends it that cut a text in two."""


@pytest.mark.parametrize("text", [HALF, f"test {HALF}", f"fc 3 ph 7.4 ta 80 {HALF}{HALF}"])
def test_half_an_emoji_is_handled_like_any_other_text(world: World, text: str) -> None:
    ada = world.owner("Ada")
    assert ada.says(text).new
    assert ada.sends("photo", caption=text).new


def test_a_whole_emoji_stays_what_it_is() -> None:
    assert Wrote(text="\ud83d\ude00").text == "\U0001f600"
    assert Wrote(text="🛁 7.4").text == "🛁 7.4"
    assert Sent(files=(), caption=HALF).caption == "�"

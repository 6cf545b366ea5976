"""Whatever was read, there is a chart that can be drawn or a sentence instead."""

from datetime import timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.model.fact import ReadingTaken
from bot.pictures.make import make
from bot.talk.drawings import water_chart
from bot.talk.words import Words
from dosing import DEFAULT_SCALE, READING_KEYS, Limits, Said
from tests.store.samples import CEDAR, NOON, entry

WORDS = Words("en")


@pytest.mark.parametrize("sanitizer", ["chlorine", "bromine"])
@settings(max_examples=15, deadline=None)
@given(tests=st.lists(st.sets(st.sampled_from(READING_KEYS), min_size=1), max_size=4))
def test_whatever_was_read_there_is_a_chart_that_can_be_drawn_or_none(sanitizer: str, tests: list[set[str]]) -> None:
    tub = CEDAR.model_copy(update={"sanitizer": sanitizer})
    journal = [
        entry(str(days), ReadingTaken(values={key: Said.value(7.4) for key in keys}), at=NOON + timedelta(days=days))
        for days, keys in enumerate(tests)
    ]
    chart = water_chart(WORDS, tub, DEFAULT_SCALE, Limits(), journal, NOON + timedelta(days=9))
    shown = {"br" if sanitizer == "bromine" else "fc", "ph", "ta"}
    assert (chart is not None) == (len(tests) >= 2 and any(shown & keys for keys in tests))
    if chart is not None:
        assert make(chart).form == "picture"

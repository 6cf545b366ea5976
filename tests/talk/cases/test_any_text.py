"""Whatever is typed: always one answer or more, never a fault, never more than a message holds, and no dose from a text
without a reading. `python -m tests.fuzz` writes as many texts as wanted.
"""

from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.talk.understand import readings
from tests.fuzz.texts import pieces
from tests.fuzz.walk import LONGEST, fuzz
from tests.talk.world import World

TEXTS = 150


def check(world: World, text: str) -> None:
    """One owner writes one text in whatever is open."""
    ada = world.actors["Ada"]
    before = len(ada.messages)
    ada.says(text)
    new = ada.messages[before:]
    assert new, f"no answer to {text[:80]!r}"
    assert all(0 < len(message.text) <= LONGEST for message in new)


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.lists(st.one_of(st.text(max_size=200), st.sampled_from(pieces())), min_size=1, max_size=6))
def test_any_texts_in_a_row_are_answered(written: list[str]) -> None:
    with World() as world:
        world.owner("Ada")
        for text in written:
            if text.strip():
                check(world, text)


@settings(max_examples=100, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.one_of(st.text(max_size=300), st.sampled_from(pieces())))
def test_a_text_without_a_reading_names_no_dose(text: str) -> None:
    if not text.strip() or readings(text).values:
        return
    with World() as world:
        ada = world.owner("Ada")
        ada.says(text)
        assert all(message.dose is None for message in ada.messages)


def test_many_random_and_hostile_texts_go_through_the_engine_without_a_fault_or_silence() -> None:
    assert fuzz(TEXTS, 20270301).faults == []

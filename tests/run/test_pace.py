import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.channels.telegram.pace import chat_burst, chat_seconds
from bot.model.person import Address
from bot.run.pace import LATE_SECONDS, Metronome, Pace


def chat(name: str) -> Address:
    return Address(channel="telegram", chat=name)


@given(
    per_second=st.floats(0.1, 200),
    pauses=st.lists(st.floats(0, 3), min_size=2, max_size=200),
)
def test_never_more_than_the_pace_over_any_stretch_and_no_burst_after_a_rest(per_second: float, pauses: list[float]):
    metronome = Metronome(Pace(per_second=per_second))
    now, times = 0.0, []
    for pause in pauses:
        now += pause
        now += metronome.seconds_left(now)
        metronome.left(chat("1"), now)
        times.append(now)
    gap = 1 / per_second
    for first in range(len(times)):
        for last in range(first + 1, min(first + 30, len(times))):
            assert times[last] - times[first] >= (last - first) * gap - min(gap, LATE_SECONDS) - 1e-6


def test_a_sleep_that_took_a_little_too_long_costs_no_pace():
    metronome = Metronome(Pace(per_second=25))
    now = 0.0
    for _ in range(250):
        now += metronome.seconds_left(now) + 0.002
        metronome.left(chat("1"), now)
    assert now == pytest.approx(249 / 25, abs=0.005)


def test_a_token_that_is_free_need_not_wait():
    metronome = Metronome(Pace(per_second=25))
    assert metronome.seconds_left(100.0) == 0
    metronome.left(chat("1"), 100.0)
    assert metronome.seconds_left(100.0) == pytest.approx(0.04)
    assert metronome.seconds_left(100.04) == pytest.approx(0)


def test_a_chat_rests_after_a_message_while_others_do_not():
    metronome = Metronome(Pace())
    metronome.left(chat("1"), 10.0)
    assert metronome.resting(10.5) == {chat("1")}
    assert metronome.next_chat(10.5) == pytest.approx(0.5)
    assert metronome.resting(11.0) == frozenset()
    assert metronome.next_chat(11.0) is None


def test_a_chats_rest_begins_when_the_message_has_arrived():
    metronome = Metronome(Pace())
    metronome.left(chat("1"), 10.0)
    metronome.arrived(chat("1"), 0.7)
    assert metronome.resting(11.6) == {chat("1")}
    assert metronome.resting(11.7) == frozenset()


def test_a_group_may_be_given_a_longer_rest():
    metronome = Metronome(Pace(chat_seconds=lambda name: 3.0 if name.startswith("-") else 1.0))
    metronome.left(chat("-100"), 10.0)
    metronome.left(chat("1"), 10.0)
    assert metronome.resting(12.0) == {chat("-100")}


def test_no_limit_is_no_rest():
    metronome = Metronome(Pace(per_second=math.inf, chat_seconds=lambda _: 0.0))
    metronome.left(chat("1"), 10.0)
    assert metronome.seconds_left(10.0) == 0
    assert metronome.resting(10.0) == frozenset()


@pytest.mark.parametrize("per_second", [0.0, -1.0])
def test_a_pace_at_which_nothing_leaves_is_refused(per_second: float):
    with pytest.raises(ValueError, match="give a positive number"):
        Pace(per_second=per_second)


@given(pauses=st.lists(st.floats(0, 30), min_size=2, max_size=200))
def test_a_group_never_gets_more_than_the_service_takes_in_any_minute(pauses: list[float]):
    metronome = Metronome(Pace(chat_seconds=chat_seconds, chat_burst=chat_burst))
    now, times = 0.0, []
    for pause in pauses:
        now += pause
        while chat("-1") in metronome.resting(now):
            now += metronome.next_chat(now) or 0.001
        metronome.left(chat("-1"), now)
        times.append(now)
    for first in times:
        assert sum(first <= other < first + 60 for other in times) <= 20


def test_a_group_that_rested_takes_a_few_at_once_and_a_person_one():
    metronome = Metronome(Pace(chat_seconds=chat_seconds, chat_burst=chat_burst))
    for _ in range(5):
        assert metronome.resting(100.0) == frozenset()
        metronome.left(chat("-1"), 100.0)
    assert metronome.resting(100.0) == {chat("-1")}
    assert metronome.next_chat(100.0) == pytest.approx(4.0)
    metronome.left(chat("1"), 100.0)
    assert metronome.resting(100.0) == {chat("-1"), chat("1")}
    assert metronome.resting(101.0) == {chat("-1")}

import random
from datetime import UTC, datetime, time, timedelta
from typing import get_args
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.model.dealer import Quiet
from bot.model.message import LANES, Dose, Lane, Message, Parcel, Refusal, RefusalKind
from bot.model.person import Person
from bot.run.verdict import (
    ASLEEP,
    LONGEST_SECONDS,
    REPEATED,
    STALE,
    UNWANTED,
    hindrance,
    is_stale,
    judge,
    marked,
    without_dose,
)
from tests.store.samples import ADA, NOON, chat

DOSE = Dose(product="p", grams=9, substances={})


def parcel(lane: Lane = "reply", *, attempts: int = 1, doubts: int = 0, dose: Dose | None = None) -> Parcel:
    message = Message(to="ada", text="2 spoons", lane=lane, dose=dose, instead="none now" if dose else "")
    return Parcel(
        number=1, dealer="north", address=chat("1"), message=message, at=NOON, attempts=attempts, doubts=doubts
    )


def refusal(kind: RefusalKind, **more: object) -> Refusal:
    return Refusal.model_validate({"kind": kind, "why": "test", **more})


kinds = st.sampled_from(get_args(RefusalKind))
seeds = st.integers(0, 2**32)


@given(kinds, st.sampled_from(LANES), st.integers(1, 10_000), st.integers(0, 9), seeds)
def test_it_is_tried_again_in_the_future_and_soon_or_never(
    kind: RefusalKind, lane: Lane, attempts: int, doubts: int, seed: int
):
    again, _ = judge(parcel(lane, attempts=attempts, doubts=doubts), refusal(kind), NOON, random.Random(seed))
    assert again is None or NOON <= again <= NOON + timedelta(seconds=LONGEST_SECONDS)


@given(st.sampled_from(["later", "broken"]), st.integers(1, 20), seeds)
def test_each_attempt_waits_at_least_as_long_as_the_one_before_could(kind: RefusalKind, attempts: int, seed: int):
    chance = random.Random(seed)
    first, second = (judge(parcel(attempts=n), refusal(kind), NOON, chance).again_at for n in (attempts, attempts + 1))
    assert first is not None
    assert second is not None
    assert second - NOON >= min((first - NOON) * 1.5, timedelta(seconds=0.75 * LONGEST_SECONDS))


@given(st.floats(0.001, 100_000), seeds)
def test_who_says_how_long_to_wait_is_taken_at_their_word(seconds: float, seed: int):
    again = judge(parcel(), refusal("later", seconds=seconds), NOON, random.Random(seed)).again_at
    assert again == NOON + timedelta(seconds=seconds)


@pytest.mark.parametrize(("lane", "again"), [("reply", True), ("alert", True), ("reminder", False), ("bulk", False)])
def test_what_may_have_arrived_is_sent_once_more_if_it_matters_and_not_at_all_otherwise(lane: Lane, again: bool):
    chance = random.Random(1)
    assert (judge(parcel(lane), refusal("unknown"), NOON, chance).again_at is not None) == again
    assert judge(parcel(lane, doubts=1), refusal("unknown"), NOON, chance).again_at is None


@given(st.sampled_from(LANES), st.integers(1, 10_000), st.integers(0, 9), seeds)
def test_what_the_service_failed_to_do_is_tried_again_in_every_lane(lane: Lane, attempts: int, doubts: int, seed: int):
    again, kept = judge(parcel(lane, attempts=attempts, doubts=doubts), refusal("failed"), NOON, random.Random(seed))
    assert again is not None
    assert (kept.kind == "unknown") == (lane in ("reply", "alert"))


@pytest.mark.parametrize(("lane", "days"), [("reminder", 1), ("bulk", 2), ("reply", None), ("alert", None)])
def test_what_a_reminder_was_about_passes_and_an_answer_stays_one(lane: Lane, days: int | None):
    at_the_last = timedelta(days=days or 400)
    assert not is_stale(parcel(lane), NOON + at_the_last)
    assert is_stale(parcel(lane), NOON + at_the_last + timedelta(seconds=1)) == (days is not None)


@pytest.mark.parametrize("lane", ["reply", "reminder"])
def test_a_dose_is_not_named_a_day_after_it_was_computed(lane: Lane):
    assert hindrance(parcel(lane, dose=DOSE), NOON + timedelta(days=1)) is None
    assert hindrance(parcel(lane, dose=DOSE), NOON + timedelta(days=1, seconds=1)) == (None, STALE)


def test_where_no_dose_may_be_named_any_more_that_is_said_in_its_place():
    held = without_dose(parcel(dose=DOSE).model_copy(update={"withheld": True})).message
    assert (held.text, held.dose, held.buttons) == ("none now", None, ())
    assert without_dose(parcel(dose=DOSE)).message.dose == DOSE


@given(st.datetimes(NOON.replace(tzinfo=None), timezones=st.just(UTC)).filter(lambda at: at.year < 2100))
def test_what_comes_unasked_leaves_outside_its_readers_quiet_hours_or_waits_for_their_end(now: datetime):
    reader = ADA.model_copy(update={"quiet": Quiet(start=time(20), end=time(9)), "zone": "America/Chicago"})
    unasked = parcel("reminder").model_copy(update={"reader": reader, "at": now})
    hindered = hindrance(unasked, now)
    clock = now.astimezone(ZoneInfo("America/Chicago")).time()
    assert (hindered is not None) == (clock >= time(20) or clock < time(9))
    if hindered:
        assert hindered.refusal == ASLEEP
        assert hindered.again_at is not None
        assert hindrance(unasked, hindered.again_at) is None
        assert hindered.again_at - now <= timedelta(hours=14)


@pytest.mark.parametrize(
    "reader",
    [ADA.model_copy(update={"standing": "stopped"}), ADA.model_copy(update={"paused_until": NOON + timedelta(days=9)})],
    ids=["stopped", "away"],
)
def test_what_comes_unasked_does_not_come_to_who_wants_no_messages_by_now(reader: Person):
    assert hindrance(parcel("reminder").model_copy(update={"reader": reader}), NOON) == (None, UNWANTED)


def test_a_repetition_can_be_told_from_the_first():
    assert marked(parcel()).message.text == "2 spoons"
    again = marked(parcel(doubts=1, dose=DOSE)).message
    assert again.text == f"{REPEATED}2 spoons"
    assert again.dose == DOSE


@pytest.mark.parametrize("kind", ["blocked", "gone", "bad"])
@pytest.mark.parametrize("lane", LANES)
def test_what_can_never_arrive_is_not_tried_again(kind: RefusalKind, lane: Lane):
    assert judge(parcel(lane), refusal(kind), NOON, random.Random(1)).again_at is None


def test_a_chat_that_moved_is_followed_at_once_but_not_for_ever():
    chance = random.Random(1)
    assert judge(parcel(), refusal("moved", chat="-100"), NOON, chance).again_at == NOON
    assert judge(parcel(), refusal("moved", chat="1"), NOON, chance).again_at is None
    assert judge(parcel(), refusal("moved"), NOON, chance).again_at is None
    assert judge(parcel(attempts=9), refusal("moved", chat="-100"), NOON, chance).again_at is None


def test_a_channel_that_does_not_work_holds_back_everything():
    assert judge(parcel(), refusal("broken"), NOON, random.Random(1)).refusal.everyone
    assert not judge(parcel(), refusal("later"), NOON, random.Random(1)).refusal.everyone

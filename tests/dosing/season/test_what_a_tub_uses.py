"""Loss at rest and bathers' demand, learned from journals of known truth."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest

from dosing import Addition, Refill, Said, Soak
from dosing.season import Fleet, Learned, Tub, look
from tests.dosing.season.journals import LITRES, TUB, chlorine, lived, read

TUBS = 30


def rate_of(loss: float) -> float:
    return -math.log(1.0 - loss)


def learned_of(days: int) -> list[tuple[float, float, Learned]]:
    truths = [lived(seed, days) for seed in range(TUBS)]
    fleet = Fleet.of([TUB] * TUBS, [truth.history for truth in truths])
    return [(truth.rate, truth.demand, fleet[at].learned) for at, truth in enumerate(truths)]


@pytest.fixture(scope="module")
def eight_weeks() -> list[tuple[float, float, Learned]]:
    return learned_of(56)


def test_after_eight_weeks_loss_and_demand_are_known_within_a_fifth(
    eight_weeks: list[tuple[float, float, Learned]],
) -> None:
    loss = [math.log(rate_of(found.loss.likely) / rate) for rate, _, found in eight_weeks]
    demand = [math.log(found.demand.likely / demand) for _, demand, found in eight_weeks]
    for errors in (loss, demand):
        assert math.sqrt(np.mean(np.square(errors))) < 0.2
        assert abs(np.mean(errors)) < 0.1


def test_the_middle_four_fifths_hold_the_truth_in_four_of_five_tubs_at_least(
    eight_weeks: list[tuple[float, float, Learned]],
) -> None:
    held = [found.loss.low <= 1 - math.exp(-rate) <= found.loss.high for rate, _, found in eight_weeks]
    held += [found.demand.low <= demand <= found.demand.high for _, demand, found in eight_weeks]
    assert np.mean(held) >= 0.8


def test_more_readings_make_surer() -> None:
    widths = [
        np.mean([math.log(found.loss.high / found.loss.low) for _, _, found in learned_of(days)])
        for days in (4, 14, 42)
    ]
    assert widths[0] > 1.15 * widths[1] > 1.3 * widths[2]


def test_without_a_reading_everything_is_a_guess_around_the_prior() -> None:
    found = look(TUB, []).learned
    assert found.sure == "guess"
    assert found.loss.low < 0.2
    assert found.loss.high > 0.4
    assert found.demand.low < 3.0
    assert found.demand.high > 7.0


@pytest.mark.parametrize(
    ("less", "more"),
    [
        (Tub(volume=LITRES), Tub(volume=LITRES, purifier="ozone")),
        (Tub(volume=LITRES), Tub(volume=LITRES, covered=False)),
        (Tub(volume=LITRES, temperature=30.0), Tub(volume=LITRES, temperature=39.0)),
    ],
)
def test_heat_ozone_and_an_open_tub_are_expected_to_lose_more(less: Tub, more: Tub) -> None:
    assert look(less, []).learned.loss.likely < look(more, []).learned.loss.likely


def steady(rate: float, odd: float | None = None) -> Learned:
    """Three weeks of a tub that is filled up to 8 whenever it is tested, read to a tenth; one test may be odd."""
    history = []
    for days in range(21, -1, -1):
        level = 8.0 * math.exp(-rate)
        value = odd if odd is not None and days == 3 else round(level, 1)
        history.append(read({"fc": value}, 24.0 * days + 1.0, "drops"))
        history.append(chlorine(8.0 - level, 24.0 * days))
    return look(TUB, history).learned


@pytest.mark.parametrize("odd", [0.0, 20.0])
def test_one_odd_reading_moves_the_loss_by_less_than_a_tenth(odd: float) -> None:
    right, moved = steady(0.35), steady(0.35, odd)
    assert moved.loss.likely == pytest.approx(right.loss.likely, rel=0.1)


def test_what_two_readings_say_is_believed_against_the_books() -> None:
    """Somebody poured and told nobody."""
    empty = [read({"fc": 0.5}, 72.0, "drops"), read({"fc": 0.3}, 50.0, "drops"), read({"fc": 0.2}, 30.0, "drops")]
    once, twice = [*empty, read({"fc": 8.0}, 3.0, "drops")], [read({"fc": 7.5}, 1.0, "drops")]
    assert look(TUB, once).now["fc"].likely < 4.0
    assert look(TUB, [*once, *twice]).now["fc"].likely > 6.0


@pytest.mark.parametrize("days", [10.0, 40.0, 120.0])
def test_a_reading_after_a_long_silence_is_believed(days: float) -> None:
    """Whoever begins to tell weeks after a fill has poured before, and told nobody."""
    silent = [Refill(None, 24.0 * days), read({"fc": 5.0}, 0.0, "strip")]
    assert 3.0 < look(TUB, silent).now["fc"].likely < 7.0


def test_a_pad_at_the_end_of_the_scale_says_only_that_there_was_at_least_so_much() -> None:
    """10 is the last block: 40 mg/L reads 10 as well."""
    history = [chlorine(40.0, 30.0), read({"fc": 10.0}, 28.0)]
    assert look(TUB, history).now["fc"].likely > 15.0


def test_what_bathers_left_is_a_debt_that_the_next_dose_pays() -> None:
    soaked = [read({"fc": 1.0}, 13.0, "drops"), Soak(4, 90.0, 12.0), chlorine(3.0, 10.0)]
    rested = [event for event in soaked if not isinstance(event, Soak)]
    assert look(TUB, soaked).now["fc"].high < look(TUB, rested).now["fc"].likely


def test_a_tub_learned_alone_is_the_same_as_in_a_fleet() -> None:
    histories = [lived(seed, days).history for seed, days in ((1, 10), (2, 30), (3, 5))]
    tubs = [TUB, Tub(volume=900.0, purifier="uv"), Tub(volume=1600.0, sanitizer="bromine", temperature=36.0)]
    fleet = Fleet.of(tubs, histories)
    for at, (tub, history) in enumerate(zip(tubs, histories, strict=True)):
        alone, among = look(tub, history), fleet[at]
        for one, other in ((alone.learned.loss, among.learned.loss), (alone.now["ph"], among.now["ph"])):
            assert (one.low, one.likely, one.high) == pytest.approx((other.low, other.likely, other.high), rel=1e-9)
        ahead, both = alone.forecast([24.0, 100.0]), fleet.forecast([24.0, 100.0]).of(at)
        assert ahead.fine["ph"] == pytest.approx(both.fine["ph"], rel=1e-9)


def test_a_fleet_without_its_journals_is_refused() -> None:
    with pytest.raises(ValueError, match="each with its history"):
        Fleet.of([TUB], [])


def test_a_bromine_tub_is_learned_in_bromine() -> None:
    tub = Tub(volume=1000.0, sanitizer="bromine")
    history = [read({"br": 6.0}, 49.0, "drops"), read({"br": 3.0}, 25.0, "drops"), Addition({"bcdmh": 5.0}, 24.0)]
    season = look(tub, history)
    assert "br" in season.now
    assert 0.3 < season.learned.loss.likely < 0.6


def test_an_expired_strip_teaches_nothing() -> None:
    from dosing import Reading

    stale = Reading({"fc": Said.value(0.5)}, hours_ago=2.0, expired=True)
    assert look(TUB, [stale]).learned.readings == 0


def test_a_journal_that_grows_teaches_the_same_as_one_that_is_read_at_once() -> None:
    whole = lived(4, 12).history
    for upto in range(1, len(whole) + 1):
        grown = look(TUB, whole[:upto])
    other = [*whole[:-1], replace(whole[-1], hours_ago=whole[-1].hours_ago + 1e-13)]
    both = Fleet.of([TUB, TUB], [whole, whole])
    for at in range(2):
        assert both[at].now["ph"].likely == pytest.approx(grown.now["ph"].likely, abs=1e-6)
        assert both[at].learned.loss.likely == pytest.approx(grown.learned.loss.likely, abs=1e-6)
    assert look(TUB, other).now["ph"].likely == pytest.approx(grown.now["ph"].likely, abs=1e-6)


@pytest.mark.parametrize(("hours", "found"), [(0.5, 10.0), (2.0, 5.0)])
def test_a_test_soon_after_many_bathers_teaches_no_small_demand(hours: float, found: float) -> None:
    """Free chlorine is still there although what they left will use it up."""
    bathed = [
        Refill(None, 24.0 * 20),
        read({"fc": 5.0}, 26.0, "meter"),
        Soak(5, 60.0, hours + 0.5),
        chlorine(8.0, hours),
    ]
    before = look(TUB, bathed).learned.demand.likely
    soon = look(TUB, [*bathed, read({"fc": found}, 0.0)])
    assert soon.learned.demand.likely > 0.85 * before
    assert soon.now["fc"].likely < 6.0


def test_what_is_found_a_day_after_many_bathers_is_what_is_left() -> None:
    bathed = [Refill(None, 24.0 * 20), read({"fc": 5.0}, 48.0, "meter"), Soak(5, 60.0, 25.0), chlorine(8.0, 24.5)]
    assert look(TUB, [*bathed, read({"fc": 5.0}, 0.0, "meter")]).now["fc"].likely == pytest.approx(5.0, abs=0.4)


STEADY_DAYS = [
    event
    for day in range(28, 0, -1)
    for event in (
        *([read({"fc": 4.0}, 24.0 * day + 0.2)] if day % 4 == 0 else ()),
        chlorine(4.0 * math.exp(0.35) - 4.0, 24.0 * day),
    )
]


def test_a_party_that_nobody_told_of_is_bathers_and_no_fast_loss() -> None:
    """A tub that lost the same for weeks does not lose thrice as much because one pad is white."""
    before = look(TUB, [Refill(None, 24.0 * 29), *STEADY_DAYS]).learned.loss
    after = look(TUB, [Refill(None, 24.0 * 29), *STEADY_DAYS, read({"fc": 0.0}, 0.0)])
    assert after.learned.loss.likely < before.high
    assert after.one.sanitizer[0] < -3.0


def test_where_bathers_left_much_the_next_white_pad_says_that_they_left_more() -> None:
    party = [Refill(None, 24.0 * 29), *STEADY_DAYS, read({"fc": 0.0}, 0.0)]
    doses = [chlorine(8.0, 23.5), read({"fc": 0.0}, 0.0)]
    later = [replace(event, hours_ago=event.hours_ago + 24.0) for event in party]
    assert look(TUB, [*later, *doses]).one.sanitizer[0] < -2.0


def test_a_tub_that_loses_much_every_day_is_still_found_out() -> None:
    """Pads that are low at every test are the loss: nobody has a party a day."""
    days = [
        event
        for day in range(28, 0, -1)
        for event in (
            *([read({"fc": 1.0}, 24.0 * day + 0.2)] if day % 4 == 0 else ()),
            chlorine(4.0 * math.exp(0.35) - 4.0, 24.0 * day),
        )
    ]
    assert rate_of(look(TUB, [Refill(None, 24.0 * 29), *days]).learned.loss.likely) > 0.6

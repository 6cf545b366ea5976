"""What `dosing` is told of a journal: air that ran counts, and a change of water does not make a tub a stranger."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

import dosing
from bot.model.fact import Filled, Plain, PlanIssued, StartedUp, StepPassed
from bot.schedule.journal import known_to_dosing
from bot.schedule.season import outlook_of, season_of
from dosing import Plan, Step, Why
from tests.schedule.test_what_is_foreseen import DEALER, START, TUB, at, care, entries, poured, read_off

AIR = Step("air", "aerate", Why("air_lifts_ph"), minutes=90)
PLANNED = (9.0, PlanIssued(plan_key="p", plan=Plan("plan", steps=(AIR,))))
AIRED = (9.0, StepPassed(plan_key="p", step="air", done=True))
LEFT_OUT = (9.0, StepPassed(plan_key="p", step="air", done=False))


@given(st.floats(0.0, 600.0))
def test_air_is_jets_without_bathers_for_as_long_as_it_has_run(minutes: float) -> None:
    now = at(9.0) + timedelta(minutes=minutes)
    found = [past for past in known_to_dosing(entries(*START, PLANNED, AIRED), now) if isinstance(past, dosing.Soak)]
    assert [(soak.bathers, soak.minutes) for soak in found] == [(0, pytest.approx(min(minutes, 90.0), abs=1e-3))]
    assert found[0].hours_ago == pytest.approx(max(0.0, minutes - 90.0) / 60.0, abs=1e-3)


def test_air_that_was_left_out_is_none() -> None:
    found = known_to_dosing(entries(*START, PLANNED, LEFT_OUT), at(10))
    assert not any(isinstance(past, dosing.Soak) for past in found)


def test_the_water_is_believed_to_have_been_lifted_by_air_that_ran() -> None:
    aired, not_aired = (
        season_of(TUB, DEALER, entries(*START, PLANNED, passed), at(9.3)) for passed in (AIRED, LEFT_OUT)
    )
    assert aired
    assert not_aired
    assert aired.now["ph"].likely > not_aired.now["ph"].likely + 0.05


def test_what_is_foreseen_takes_air_into_account() -> None:
    before, after = entries(*START, PLANNED), entries(*START, PLANNED, AIRED)
    assert outlook_of(TUB, DEALER, before) != outlook_of(TUB, DEALER, after)


def _weeks_of_fast_loss(first: float) -> list[tuple[float, Plain]]:
    """Every other day a dose to ten, and a test two days later that finds one."""
    told: list[tuple[float, Plain]] = []
    for day in range(0, 28, 2):
        told += [(first + day, read_off(fc=1, ph=7.4, ta=80)), (first + day + 0.01, poured("dichlor", 21.0))]
    return told


def test_what_was_learned_of_a_tub_outlives_a_change_of_its_water() -> None:
    told = [(0.0, Filled()), (0.1, StartedUp()), *_weeks_of_fast_loss(1.0)]
    fresh: list[tuple[float, Plain]] = [(30.0, Filled()), (30.1, StartedUp()), (30.2, read_off(fc=3, ph=7.4, ta=80))]
    known = season_of(TUB, DEALER, entries(*told, *fresh), at(31))
    stranger = season_of(TUB, DEALER, entries(*fresh), at(31))
    assert known
    assert stranger
    assert known.learned.loss.likely > 1.3 * stranger.learned.loss.likely


def test_a_test_of_the_water_before_is_no_test_of_this_water() -> None:
    journal = entries(*START, (20.0, Filled()))
    assert season_of(TUB, DEALER, journal, at(20.5)) is None
    assert care(journal, 20.5).reason("test") is None


def test_additions_to_the_water_before_are_gone_with_it() -> None:
    journal = entries(*START, (9.0, poured("dichlor", 30.0)), (20.0, Filled()), (20.1, read_off(fc=3, ph=7.4, ta=80)))
    assert not any(isinstance(past, dosing.Addition) for past in known_to_dosing(journal, at(21)))
    found = season_of(TUB, DEALER, journal, at(21))
    assert found
    assert found.books.cya.likely < 1.0

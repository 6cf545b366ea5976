"""What the forecast, the routine and the dates take for granted of a household and its doses."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from dosing import DEFAULT_KIT, Addition, Kit, Past, Product, Reading, Refill, Said, Soak
from dosing.readings import Method
from dosing.season import Away, Tub, look
from dosing.season.aims import aims
from dosing.season.priors import DOSE
from dosing.season.sanitizer import acidity
from tests.dosing.season.journals import LITRES, TUB, chlorine, read

HOURS = (24.0, 72.0, 120.0)
DICHLOR = replace(TUB, kit=DEFAULT_KIT.without("hypochlorite"))
STEADY: list[Past] = [
    Refill(None, 40 * 24.0),
    *(read({"fc": 5.0, "ph": 7.5, "ta": 85.0}, 24.0 * d + 1, "meter") for d in range(20, -1, -4)),
]


@pytest.mark.parametrize(
    ("tub", "takes"),
    [(TUB, 0.0), (DICHLOR, 0.1955 / 0.5540), (replace(TUB, kit=Kit()), 0.0),
     (Tub(volume=LITRES, sanitizer="bromine", kit=Kit((Product("granules", {"bcdmh": 0.9}, 1.0),))), 0.4145 / 1.3236)],
)  # fmt: skip
def test_a_milligram_of_sanitizer_takes_alkalinity_by_stoichiometry(tub: Tub, takes: float) -> None:
    assert acidity(tub, 0.0) == pytest.approx(takes, abs=3e-4)


def test_the_acid_of_the_routine_s_dichlor_is_in_the_forecast() -> None:
    """Of nine doses in ten, in water whose soaks are what the household said."""
    without, following = (look(DICHLOR, STEADY).forecast([240.0], follow_card=follow) for follow in (False, True))
    one = look(DICHLOR, STEADY).one
    poured = one.routine.idle / one.routine.days + one.routine.each_bather_hour * one.habits.bather_hours_a_day
    held = one.belief.balance.per_oxidant * (following.likely["fc"][0] - without.likely["fc"][0])
    fell = without.likely["ta"][0] - following.likely["ta"][0] + held
    assert fell == pytest.approx(10 * 0.9 * poured * 0.3529, rel=0.25)


def test_while_they_are_away_the_card_adds_nothing() -> None:
    season = look(replace(DICHLOR, away=Away(-1.0, 240.0)), STEADY)
    follows, rests = (season.forecast(HOURS, follow_card=follow) for follow in (True, False))
    for key in ("fc", "ph", "ta"):
        np.testing.assert_allclose(follows.likely[key], rests.likely[key], rtol=1e-9)


def test_of_a_household_that_said_nothing_two_are_taken_for_an_hour_and_a_fifth_between_them() -> None:
    habits = look(TUB, STEADY).one.habits
    assert (habits.bathers[0], habits.bather_hours[0], habits.jets[0]) == pytest.approx((2.0, 1.2, 0.6))
    soaks = [Soak(4, 30.0, 24.0 * day + 2) for day in range(40)]
    told = look(TUB, [*STEADY, *soaks]).one.habits
    assert (told.bathers[0], told.bather_hours[0], told.jets[0]) == pytest.approx((4.0, 2.0, 0.5), rel=0.1)


def test_a_soak_s_own_share_is_the_evening_s_where_a_dose_is_due_each_evening() -> None:
    """A soak comes, on the mean, half of the routine's days and half a day after the last dose."""
    for history in (STEADY, [read({"fc": 5.0}, 1.0)]):
        one = look(TUB, history).one
        days, rate = one.routine.days[0], one.belief.level.rates(0.5)[0]
        lost = [1 - np.exp(-rate * since) for since in ((days + 1) / 2, days)]
        assert one.routine.each_soak[0] == pytest.approx(one.routine.idle[0] * lost[0] / lost[1])


def test_after_a_dose_the_level_is_as_sure_as_it_was_and_the_spoon_is() -> None:
    holiday = look(TUB, STEADY).holiday_dose()
    soaked = look(TUB, [*STEADY, read({"fc": 4.0}, 0.1, "drops")]).dose(Soak(2, 20.0, 0.0))
    for dose in (holiday, soaked):
        assert dose is not None
        level, after = ((each.high - each.likely) / 1.2816 for each in (dose.level, dose.predicted))
        rise = dose.predicted.likely - dose.level.likely
        assert after**2 - level**2 == pytest.approx((DOSE * rise) ** 2, rel=1e-3)


def test_no_level_that_is_told_lies_below_nought() -> None:
    party = Soak(6, 90.0, 0.2)
    tub = replace(TUB, kit=DEFAULT_KIT.without("monopersulfate"))
    dose = look(tub, [read({"fc": 4.0}, 1.0, "drops"), party]).dose(party)
    assert dose is not None
    assert min(dose.level.low, dose.predicted.low) >= 0


@pytest.mark.parametrize(("days", "ta", "lowered"), [(5, 160.0, True), (5, 100.0, False), (22, 160.0, False)])
def test_high_alkalinity_of_a_fresh_fill_is_tested_daily_while_acid_brings_it_down(
    days: int, ta: float, lowered: bool
) -> None:
    due = look(TUB, [Refill(None, 24.0 * days), read({"fc": 5.0, "ph": 7.5, "ta": ta}, 1.0, "meter")]).test
    found = {one.code: one.hours for one in (due, *due.others)}
    assert ("lowering_alkalinity" in found) is lowered
    if lowered:
        assert found["lowering_alkalinity"] == 23


@pytest.mark.parametrize(("age", "day"), [(35.0, 2), (37.0, 4)])
def test_a_test_half_a_day_early_counts_for_its_day_of_the_first_week(age: float, day: int) -> None:
    due = look(TUB, [Refill(None, age + 1.0), read({"fc": 5.0, "ph": 7.5, "ta": 85.0}, 1.0, "meter")]).test
    assert [one.numbers["day"] for one in (due, *due.others) if one.code == "first_week"] == [day]


@pytest.mark.parametrize(("fc", "poured", "hours"), [(3.0, 0.0, 47.0), (1.0, 0.0, 23.0), (1.0, 4.0, 47.0)])
def test_a_bad_reading_is_looked_at_in_two_days_and_in_one_where_nothing_was_poured_for_it(
    fc: float, poured: float, hours: float
) -> None:
    history = [Refill(None, 960.0), read({"fc": fc, "ph": 8.4, "ta": 85.0}, 1.0, "meter")]
    due = look(TUB, [*history, *([chlorine(poured, 0.5)] if poured else [])]).test
    assert {one.code: one.hours for one in (due, *due.others)}["bad_reading"] == hours


def test_a_plan_for_a_known_tub_aims_within_the_rules_of_a_season() -> None:
    limits = aims(look(TUB, STEADY).one)
    assert 7.35 <= limits.ph_aim <= 7.55
    assert limits.ph_fine[0] < limits.ph_aim < limits.ph_fine[1] <= 7.8
    assert (limits.ph_dosed, limits.ph_bounds, limits.acid_whole) == ((7.2, 8.0), (7.0, 8.5), 25.0)
    assert (limits.alkalinity_aim, limits.alkalinity_fine[1]) == (85.0, 120.0)
    assert 62 <= limits.alkalinity_fine[0] <= 75
    assert all(round(each, 2) == each for each in (limits.ph_aim, *limits.ph_fine))


def test_alkalinity_is_the_same_whoever_asks_and_counts_the_base_that_chlorine_holds() -> None:
    season = look(TUB, [*STEADY, chlorine(4.0, 0.1)])
    assert season.one.alkalinity == pytest.approx(season.now["ta"].likely)
    believed = float(season.one.belief.balance.mean[0, 0])
    assert season.one.alkalinity - believed == pytest.approx(season.now["fc"].likely * 50.0435 / 70.906, rel=0.05)


def test_chances_lie_between_nil_and_one_and_follow_where_the_water_is() -> None:
    """Three to ten for chlorine between tests: at 5 mg/L it is nearly sure to be there, after ten days without none."""
    ahead = look(TUB, STEADY).forecast([0.0, 120.0, 240.0], follow_card=False)
    for chances in ahead.fine.values():
        assert np.all((chances >= 0) & (chances <= 1))
    assert ahead.fine["fc"][0] > 0.95 > ahead.fine["fc"][1] > ahead.fine["fc"][2]
    assert ahead.all_fine[0] == pytest.approx(np.prod([chances[0] for chances in ahead.fine.values()]))


@pytest.mark.parametrize("method", ["strip", "drops", "meter"])
@pytest.mark.parametrize("tap", [0.0, 1.0, 80.0, 240.0])
@pytest.mark.parametrize("ph", [5.0, 6.2, 9.5])
def test_any_water_has_a_forecast_filled_from_such_a_tap_or_not(method: Method, tap: float, ph: float) -> None:
    said = {key: Said.value(value) for key, value in {"ph": ph, "fc": 0.0, "ta": tap}.items()}
    tub = replace(TUB, source=Reading({"ta": Said.value(tap)}, method))
    for history in ([Reading(said, method)], [Refill(None, 2.0), Reading(said, method)], [Reading(said, method, 30.0)]):
        ahead = look(tub, history).forecast([0.0, 24.0])
        for key in ("ph", "ta"):
            assert np.isfinite(ahead.fine[key]).all()
            assert (ahead.high[key] > ahead.low[key]).all()


@pytest.mark.parametrize(
    ("history", "code", "names"),
    [([Addition({"calcium_chloride": 400.0 * LITRES / 1000.0}, 10.0)], "hardness", {"ch", "limit", "a_day"}),
     ([Addition({"calcium_chloride": 1600.0 * LITRES / 1000.0}, 10.0)], "solids", {"over_start", "limit", "a_day"}),
     ([Addition({"sodium_dichlor": 150.0}, 10.0)], "cyanurate", {"cya", "limit", "a_day"}),
     ([Soak(3, 30.0, 24.0 * day) for day in range(10)], "bather_load", {"litres", "bathers_a_day", "days"})],
)  # fmt: skip
def test_a_refill_says_the_numbers_that_ask_for_it(history: list[Past], code: str, names: set[str]) -> None:
    due = look(TUB, [Refill(None, 240.0), *history]).refill
    assert {one.code: set(one.numbers) for one in (due, *due.others)}[code] == names


def test_alkalinity_that_falls_two_a_day_is_learned_to_fall_ten_a_week_or_more() -> None:
    """Fourteen, which what was believed before pulls toward nought."""
    falling = [
        read({"ta": 140.0 - 2 * (30 - day), "ph": 7.5, "fc": 4.0}, 24.0 * day, "meter") for day in range(30, -1, -2)
    ]
    found = look(TUB, [Refill(None, 31 * 24.0), *falling]).learned.alkalinity
    assert -17 < found.likely < -9
    assert -20 < found.low < -12 < found.high < 0


def test_bathers_splash_out_what_the_tap_does_not_bring_back() -> None:
    gathered = [Refill(None, 960.0), Addition({"sodium_dichlor": 60.0}, 900.0)]
    soaks = [Soak(4, 60.0, 24.0 * day + 2) for day in range(25)]
    assert look(TUB, gathered).one.gains["cya"] >= 0
    assert look(TUB, [*gathered, *soaks]).one.gains["cya"] < -0.05

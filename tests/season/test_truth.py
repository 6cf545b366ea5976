"""The simulated tub keeps the books of matter and does what is published of tubs."""

import math
from dataclasses import replace

import pytest

from tests.season.draw import draw
from tests.season.tub import JETS, Make, TrueTub
from tests.season.water import MASS, Source

QUIET = Make(
    litres=1000.0, temperature=38.0, loss=0.3, demand=4.0, aired_rest=0.0, aired_jets=1.0, evaporation=0.0,
    splash=0.0, source=Source(7.6, 90.0, 120.0),
)  # fmt: skip


def tub(**other: float) -> TrueTub:
    return TrueTub(replace(QUIET, **other))


def test_dichlor_brings_as_much_cyanurate_as_its_formula_says() -> None:
    """0.91 mg/L for each mg/L of chlorine: 129.07 / (2 x 70.906), by the formula NaCl2C3N3O3."""
    it = tub()
    it.pour({"sodium_dichlor": 20.0})
    assert it.state.cyanurate / it.state.free_chlorine == pytest.approx(0.91, abs=0.005)


def test_a_day_at_rest_costs_the_share_that_the_tub_is_given() -> None:
    it = tub()
    it.pour({"sodium_hypochlorite": 8.0})
    before = it.state
    it.until(24.0)
    assert it.state.free_chlorine == pytest.approx(0.7 * before.free_chlorine, rel=1e-3)


def test_chlorine_that_is_used_up_takes_the_alkalinity_of_its_acid() -> None:
    """HOCl to Cl- and H+: 50.04 / 70.91 mg/L as CaCO3 for each mg/L of chlorine."""
    it = tub()
    it.pour({"sodium_hypochlorite": 8.0})
    before = it.state
    it.until(48.0)
    used = before.free_chlorine - it.state.free_chlorine
    assert before.alkalinity - it.state.alkalinity == pytest.approx(used * 50.0435 / 70.906, rel=2e-3)


def test_bathers_use_up_the_chlorine_that_they_are_said_to() -> None:
    it = tub(loss=1e-6)
    it.pour({"sodium_hypochlorite": 10.0})
    before = it.state.free_chlorine
    it.soak(bathers=2, minutes=30)
    it.until(48.0)
    assert before - it.state.free_chlorine == pytest.approx(4.0, rel=1e-2)


def test_what_no_chlorine_met_waits_for_the_next_dose() -> None:
    it = tub()
    it.soak(bathers=4, minutes=60)
    it.until(3.0)
    it.pour({"sodium_hypochlorite": 6.0})
    it.until(15.0)
    assert it.state.free_chlorine < 0.2


def test_jets_drive_carbon_dioxide_out_and_lift_ph_but_not_beyond_the_air() -> None:
    it = tub()
    before = it.state
    it.until(2.0, JETS)
    assert it.state.ph > before.ph + 0.2
    assert it.state.alkalinity == pytest.approx(before.alkalinity, rel=1e-4)
    it.until(60.0, JETS)
    assert 1.0 < it.state.carbon_dioxide / it.state.carbon_dioxide_of_air < 1.4


def test_top_up_brings_what_the_tap_brings_and_splash_takes_what_the_tub_holds() -> None:
    it = tub(evaporation=0.01)
    it.until(24.0 * 20)
    assert it.state.hardness == pytest.approx(120.0 * math.exp(0.0) * 1.2, rel=0.01)
    it = tub(splash=10.0, loss=1e-6)
    it.pour({"sodium_dichlor": 40.0})
    before = it.state.cyanurate
    it.soak(bathers=5, minutes=1)
    assert it.state.cyanurate == pytest.approx(0.95 * before, rel=1e-3)


def test_a_season_s_matter_adds_up() -> None:
    """Nothing of what was poured is lost or made in 90 days of soaks, doses and decay."""
    it = tub(aired_rest=0.2, evaporation=0.0)
    alkalinity = it.state.alkalinity
    for day in range(90):
        it.until(24.0 * day)
        it.pour({"sodium_dichlor": 4.0} if day % 2 else {"sodium_hypochlorite": 3.0})
        if day % 7 == 0:
            it.pour({"sodium_bicarbonate": 20.0, "potassium_monopersulfate": 10.0})
        if day % 3 == 0:
            it.soak(bathers=2, minutes=20)
    it.until(24.0 * 110)
    grams = it.poured
    mmol = {name: amount / MASS[name] for name, amount in grams.items()}
    assert it.state.cyanurate == pytest.approx(mmol["sodium_dichlor"] * 129.074, rel=1e-3)
    left = it.state.free_chlorine / 70.906
    acid = 2 * mmol["sodium_dichlor"] + mmol["sodium_hypochlorite"] - left
    base = mmol["sodium_dichlor"] + mmol["sodium_hypochlorite"] + mmol["sodium_bicarbonate"]
    change = (base - acid - 3 * mmol["potassium_monopersulfate"]) * 50.0435
    assert it.state.alkalinity - alkalinity == pytest.approx(change, abs=0.5)


def test_a_new_fill_is_tap_water_again() -> None:
    it = tub()
    fresh = it.state
    it.pour({"sodium_dichlor": 40.0, "calcium_chloride": 50.0})
    it.refill()
    assert it.state == pytest.approx(fresh)


def test_the_same_number_is_the_same_tub_and_more_weeks_change_nothing_before() -> None:
    short, long = draw(3, 1, 8), draw(3, 1, 26)
    assert short.make == long.make
    assert long.soaks[: len(short.soaks) - 20] == short.soaks[:-20]

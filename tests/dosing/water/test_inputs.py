"""Bad input gets a sentence, odd but possible water an answer."""

import math

import numpy as np
import pytest

from dosing import Water, active_chlorine, add, equilibrate, from_carbon, heat, langelier, mix, speciate, spend

TUB = Water(7.4, 90.0)


@pytest.mark.parametrize(
    ("fields", "sentence"),
    [
        ({"ph": 15.0}, "pH lies from 0 to 14"),
        ({"ph": math.nan}, "pH lies from 0 to 14"),
        ({"ph": "7.4 or so"}, "pH is a number or an array of numbers"),
        ({"alkalinity": math.inf}, "alkalinity lies from"),
        ({"calcium_hardness": -1.0}, r"calcium hardness lies from 0 to 100000 in mg/L as CaCO3; got -1"),
        ({"temperature": 104.0}, "temperature lies from 0 to 100 in degC; got 104"),
        ({"borate": [1.0, -2.0]}, "borate lies from .* got -2"),
        ({"ph": np.array([7.0, 7.5]), "tds": np.array([1.0, 2.0, 3.0])}, "do not broadcast together"),
    ],
)
def test_a_water_that_cannot_be_is_refused_in_a_sentence(fields: dict, sentence: str) -> None:
    with pytest.raises(ValueError, match=sentence):
        Water(**{"ph": 7.4, "alkalinity": 90.0} | fields)


def test_an_unknown_substance_is_answered_with_those_there_are() -> None:
    with pytest.raises(ValueError, match=r"no substance is called 'baking soda'; there are: ascorbic_acid, bcdmh"):
        add(TUB, "baking soda", 10.0)


@pytest.mark.parametrize("dose", [math.nan, math.inf, "a pinch"])
def test_a_dose_is_a_number(dose: object) -> None:
    with pytest.raises(ValueError, match="a dose"):
        add(TUB, "sodium_bicarbonate", dose)


def test_no_more_is_spent_than_there_is() -> None:
    water = add(TUB, "sodium_hypochlorite", 5.0)
    with pytest.raises(ValueError, match="no more chlorine or bromine than the water holds"):
        spend(water, water.free_chlorine + 0.01)
    assert spend(water, water.free_chlorine).free_chlorine == 0.0


def test_no_more_is_taken_out_than_there_is() -> None:
    with pytest.raises(ValueError, match="free chlorine lies from 0"):
        add(TUB, "sodium_hypochlorite", -5.0)


@pytest.mark.parametrize("share", [-0.1, 1.1, math.nan])
def test_a_fraction_lies_between_nil_and_one(share: float) -> None:
    with pytest.raises(ValueError, match="fraction"):
        mix(TUB, TUB, share)


@pytest.mark.parametrize("pressure", [0.0, -1.0, math.nan])
def test_a_pressure_is_above_nil(pressure: float) -> None:
    with pytest.raises(ValueError, match="pressure of carbon dioxide"):
        equilibrate(TUB, pressure)


def test_temperature_and_carbon_and_chlorine_are_checked_too() -> None:
    with pytest.raises(ValueError, match="temperature"):
        heat(TUB, 140.0)
    with pytest.raises(ValueError, match="DIC"):
        from_carbon(TUB, -1.0)
    with pytest.raises(ValueError, match="free chlorine"):
        active_chlorine(-1.0, 30.0, 7.4, 38.0)
    with pytest.raises(ValueError, match="do not broadcast"):
        active_chlorine(np.ones(2), np.ones(3), 7.4, 38.0)


def test_integers_and_lists_serve_as_numbers() -> None:
    assert speciate(Water(7, 90)).dic == speciate(Water(7.0, 90.0)).dic
    assert speciate(Water([7, 8], 90)).dic.shape == (2,)
    assert isinstance(speciate(Water(np.float64(7.0), np.array(90.0))).dic, float)


def test_without_calcium_no_calcite_could_ever_form() -> None:
    assert speciate(Water(8.0, 120.0, 0.0)).saturation_index < -10
    assert langelier(Water(8.0, 120.0, 0.0)) < -10


def test_where_cyanurate_is_all_the_alkalinity_no_carbonate_is_left() -> None:
    found = speciate(Water(8.0, 40.0, cyanuric_acid=200.0))
    assert found.carbonate_alkalinity < 0
    assert 0 <= found.dic < 1e-12
    assert found.saturation_index < -10
    assert langelier(Water(8.0, 40.0, cyanuric_acid=200.0)) < -10


def test_water_without_alkalinity_and_acid_water_are_waters_too() -> None:
    assert speciate(Water(6.0, 0.0)).dic < 0.01
    sour = add(Water(7.0, 20.0), "hydrochloric_acid", 30.0)
    assert sour.alkalinity < 0
    assert 2.5 < sour.ph < 4.5


def test_solids_too_few_for_the_ions_become_the_fewest_that_can_be() -> None:
    water = Water(7.6, 200.0, 700.0, tds=100.0)
    found = speciate(water)
    assert found.sodium == 0.0
    assert found.chloride == pytest.approx(2 * 700 / 100.0869 - 200 / 50.0435)
    assert found.dissolved_solids > 600
    assert add(water, "sodium_chloride", 0.0).tds == pytest.approx(found.dissolved_solids)


def test_chloride_that_is_given_replaces_the_one_rebuilt_from_solids() -> None:
    given = speciate(Water(7.6, 100.0, tds=400.0, chloride=20.0))
    assert given.chloride == 20.0
    assert given.ionic_strength > speciate(Water(7.6, 100.0, tds=400.0)).ionic_strength * 2


def test_combined_chlorine_is_carried_and_diluted_but_never_acts() -> None:
    water = Water(7.4, 90.0, combined_chlorine=2.0)
    assert speciate(water).dic == speciate(TUB).dic
    assert mix(water, TUB, 0.25).combined_chlorine == pytest.approx(1.5)
    assert add(water, "sodium_bicarbonate", 10.0).combined_chlorine == 2.0


def test_bromine_water_counts_what_is_spent_as_bromine_and_chlorine_goes_first() -> None:
    water = add(TUB, "bcdmh", 20.0)
    used = spend(water, 4.0)
    assert used.free_chlorine == pytest.approx(water.free_chlorine - 4.0 * 70.906 / 159.808)
    assert used.bromine == pytest.approx(water.bromine)
    used = spend(water, 20.0)
    assert used.free_chlorine == 0.0
    assert used.bromine == pytest.approx(water.bromine + water.free_chlorine * 159.808 / 70.906 - 20.0)
    assert used.alkalinity == pytest.approx(90.0 - 20.0 / 159.808 * 50.0435)


def test_a_reducer_with_nothing_to_reduce_stays_inert() -> None:
    after = add(TUB, "sodium_thiosulfate", 5.0)
    assert after.alkalinity == 90.0
    assert after.ph == pytest.approx(7.4, abs=0.002)
    after = add(add(TUB, "sodium_hypochlorite", 1.0), "sodium_thiosulfate", 5.0)
    assert after.free_chlorine == pytest.approx(0.0, abs=1e-12)
    assert after.sulfate == pytest.approx(5.0 / 158.097 + 1.0 / 74.439 / 4)


def test_a_reducer_takes_bromine_after_chlorine() -> None:
    water = add(TUB, "bcdmh", 10.0)
    after = add(water, "sodium_sulfite", 1.5 * 10.0 / 241.469 * 126.037)
    assert after.free_chlorine == pytest.approx(0.0, abs=1e-9)
    assert after.bromine == pytest.approx(water.bromine / 2)
    assert after.bromide == pytest.approx(water.bromine / 2 / 159.808)

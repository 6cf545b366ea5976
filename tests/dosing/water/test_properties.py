"""What must hold for every water, whatever the constants."""

from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dosing import SUBSTANCES, Water, active_chlorine, add, equilibrate, from_carbon, heat, mix, speciate, spend
from tests.dosing.water.strategies import numbers, waters

EXACT = 1e-7
OPPOSITES = [
    ("sodium_hydroxide", "hydrochloric_acid"),
    ("sodium_hydroxide", "sodium_bisulfate"),
    ("sodium_hydroxide", "sulfuric_acid"),
]
OXIDANTS = [name for name, each in SUBSTANCES.items() if each.fresh.chlorine or each.fresh.bromine]
PLAIN = [name for name, each in SUBSTANCES.items() if not each.reduces and name != "potassium_monopersulfate"]


def assert_same(first: Water, second: Water, *, within: float = EXACT) -> None:
    for field in fields(Water):
        one, other = getattr(first, field.name), getattr(second, field.name)
        if one is not None and other is not None:
            assert one == pytest.approx(other, rel=within, abs=within), field.name


@settings(deadline=None, max_examples=60)
@given(waters(chlorine=20), st.sampled_from(PLAIN), numbers(0, 40))
def test_a_closed_addition_conserves_alkalinity_and_carbon(water: Water, name: str, dose: float) -> None:
    substance, before = SUBSTANCES[name], speciate(water)
    after = add(water, name, dose)
    assert after.alkalinity == pytest.approx(water.alkalinity + substance.alkalinity * dose, rel=1e-12)
    # Where acid has used up all alkalinity, a DIC read back from the pH magnifies that number's last digits.
    within = EXACT if after.alkalinity > 5 else 1e-5
    assert speciate(after).dic == pytest.approx(before.dic + substance.dic * dose, rel=within)
    assert after.calcium_hardness == pytest.approx(water.calcium_hardness + substance.calcium_hardness * dose)
    assert after.cyanuric_acid == pytest.approx(water.cyanuric_acid + substance.cyanuric_acid * dose)
    assert after.borate == pytest.approx(water.borate + substance.borate * dose)
    assert after.free_chlorine == pytest.approx(water.free_chlorine + substance.free_chlorine * dose)
    assert after.bromine == pytest.approx(water.bromine + substance.bromine * dose)


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10), numbers(0, 15), st.sampled_from(OPPOSITES))
def test_as_much_acid_as_base_returns_to_the_same_ph_but_for_the_salt(
    water: Water, dose: float, pair: tuple[str, str]
) -> None:
    base, acid = pair
    enough = dose * SUBSTANCES[base].alkalinity / -SUBSTANCES[acid].alkalinity
    back = add(add(water, base, dose), acid, enough)
    assert back.alkalinity == pytest.approx(water.alkalinity)
    assert speciate(back).dic == pytest.approx(speciate(water).dic, rel=EXACT)
    assert back.ph == pytest.approx(water.ph, abs=0.03)


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10), st.sampled_from(PLAIN), numbers(0, 30))
def test_a_dose_taken_out_again_leaves_the_first_water(water: Water, name: str, dose: float) -> None:
    water = replace(water, chloride=speciate(water).chloride + 1.0)
    assert_same(replace(add(add(water, name, dose), name, -dose), tds=water.tds), water)


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10), st.sampled_from(PLAIN), st.sampled_from(PLAIN))
def test_the_order_of_two_additions_does_not_matter(water: Water, first: str, second: str) -> None:
    assert_same(add(add(water, first, 10.0), second, 10.0), add(add(water, second, 10.0), first, 10.0))


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10), st.sampled_from(PLAIN), numbers(1, 30))
def test_a_dose_in_two_halves_is_the_whole_dose(water: Water, name: str, dose: float) -> None:
    assert_same(add(add(water, name, dose / 2), name, dose / 2), add(water, name, dose))


@settings(deadline=None, max_examples=30)
@given(waters(), st.sampled_from(OXIDANTS))
def test_an_oxidant_added_and_used_up_leaves_its_spent_alkalinity(water: Water, name: str) -> None:
    fresh = add(water, name, 5.0)
    used = fresh.free_chlorine * (159.808 / 70.906 if fresh.bromine else 1.0) + fresh.bromine
    after = spend(fresh, used)
    assert after.free_chlorine == pytest.approx(0, abs=1e-9)
    assert after.bromine == pytest.approx(0, abs=1e-9)
    assert after.alkalinity == pytest.approx(water.alkalinity + 5.0 * SUBSTANCES[name].alkalinity_spent)
    assert speciate(after).dic == pytest.approx(speciate(water).dic, rel=EXACT)


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10), waters(bromine=10), numbers(0, 1))
def test_mixing_is_commutative_conserves_and_lies_between(first: Water, second: Water, share: float) -> None:
    mixed = mix(first, second, share)
    assert_same(mixed, mix(second, first, 1.0 - share))
    one, other, both = speciate(first), speciate(second), speciate(mixed)
    assert both.dic == pytest.approx(one.dic * (1 - share) + other.dic * share, rel=EXACT)
    for name in ("alkalinity", "calcium_hardness", "cyanuric_acid", "borate", "free_chlorine", "bromine"):
        ends = sorted((getattr(first, name), getattr(second, name)))
        assert ends[0] - 1e-9 <= getattr(mixed, name) <= ends[1] + 1e-9


@settings(deadline=None, max_examples=30)
@given(waters(chlorine=10), waters(bromine=10))
def test_mixing_nothing_in_changes_nothing(first: Water, second: Water) -> None:
    assert mix(first, second, 0.0).ph == pytest.approx(first.ph, abs=1e-7)
    assert mix(first, second, 1.0).ph == pytest.approx(second.ph, abs=1e-7)


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10), numbers(5, 42))
def test_heating_and_cooling_again_returns(water: Water, celsius: float) -> None:
    warm = heat(water, celsius)
    assert speciate(warm).dic == pytest.approx(speciate(water).dic, rel=EXACT)
    assert heat(warm, water.temperature).ph == pytest.approx(water.ph, abs=1e-7)


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10))
def test_air_at_the_water_s_own_pressure_changes_nothing_and_less_of_it_raises_ph(water: Water) -> None:
    pressure = speciate(water).pco2
    assert equilibrate(water, pressure).ph == pytest.approx(water.ph, abs=1e-7)
    assert equilibrate(water, pressure / 2).ph > water.ph
    assert equilibrate(water, pressure / 2).alkalinity == water.alkalinity


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10, bromine=10))
def test_carbon_and_ph_are_two_ways_to_say_the_same(water: Water) -> None:
    found = speciate(water)
    again = from_carbon(replace(water, ph=7.5), found.dic)
    for name, value in found._asdict().items():
        assert getattr(again, name) == pytest.approx(value, rel=1e-6, abs=1e-7), name


@settings(deadline=None, max_examples=40)
@given(waters(chlorine=10, bromine=10))
def test_ions_balance(water: Water) -> None:
    found = speciate(water)
    strong = found.sodium + 2 * water.calcium_hardness / 100.0869 - found.chloride
    assert strong == pytest.approx(water.alkalinity / 50.0435, abs=1e-9)


@settings(deadline=None, max_examples=30)
@given(waters(chlorine=10), st.sampled_from(PLAIN))
def test_the_charge_that_a_product_brings_is_balanced_by_no_less_sodium_than_nil(water: Water, name: str) -> None:
    before, after = speciate(water), speciate(add(water, name, 25.0))
    sodium = {"sodium_carbonate": 2, "sodium_sesquicarbonate": 3, "borax_decahydrate": 2, "borax_pentahydrate": 2}
    atoms = sodium.get(name, 1 if SUBSTANCES[name].formula.startswith("Na") else 0)
    assert after.sodium - before.sodium == pytest.approx(atoms * 25.0 / SUBSTANCES[name].molar_mass, abs=1e-7)


def test_an_array_of_waters_is_the_waters_one_by_one() -> None:
    random = np.random.default_rng(0)
    many = Water(
        ph=random.uniform(6.5, 8.5, (5, 4)),
        alkalinity=random.uniform(60, 300, (5, 4)),
        cyanuric_acid=random.choice([0.0, 40.0], (5, 4)),
        temperature=random.uniform(5, 42, (5, 1)),
        free_chlorine=random.choice([0.0, 5.0], 4),
    )
    together = add(many, "sodium_bisulfate", random.uniform(0, 30, (5, 4)))
    random = np.random.default_rng(0)
    doses = [random.uniform(size=(5, 4)) for _ in range(2)]
    assert together.ph.shape == doses[0].shape
    for row in range(5):
        for column in range(4):
            one = Water(
                ph=many.ph[row, column],
                alkalinity=many.alkalinity[row, column],
                cyanuric_acid=many.cyanuric_acid[row, column],
                temperature=many.temperature[row, 0],
                free_chlorine=many.free_chlorine[column],
            )
            found = speciate(one)
            assert isinstance(found.dic, float)
            for name, value in speciate(many)._asdict().items():
                assert value[row, column] == pytest.approx(getattr(found, name), rel=1e-6, abs=1e-12), name


@pytest.mark.parametrize("name", ["temperature", "tds", "borate", "bromine", "free_chlorine", "cyanuric_acid", "ph"])
@pytest.mark.parametrize("count", [1, 3, 5000])
def test_any_one_field_may_be_the_only_array(name: str, count: int) -> None:
    low, high = {"ph": (7.0, 8.0), "temperature": (10.0, 40.0), "tds": (500.0, 2000.0)}.get(name, (0.0, 20.0))
    values = np.linspace(low, high, count)
    water = Water(**{"ph": 7.4, "alkalinity": 100.0} | {name: values})
    for field in speciate(water):
        assert np.shape(field) == (count,)
    assert add(water, "sodium_carbonate", 5.0).ph.shape == (count,)
    assert equilibrate(water, 1e-3).ph[-1] == pytest.approx(
        equilibrate(Water(**{"ph": 7.4, "alkalinity": 100.0} | {name: values[-1]}), 1e-3).ph, abs=1e-7
    )


def test_more_waters_than_a_block_are_solved_alike() -> None:
    random = np.random.default_rng(1)
    ph = random.uniform(6.5, 8.5, 9001)
    many = speciate(Water(ph, 120.0, cyanuric_acid=30.0, free_chlorine=4.0))
    few = speciate(Water(ph[8000:8010], 120.0, cyanuric_acid=30.0, free_chlorine=4.0))
    np.testing.assert_allclose(many.saturation_index[8000:8010], few.saturation_index, rtol=0, atol=1e-8)


def test_a_plane_of_alkalinity_and_carbon_is_one_call() -> None:
    alkalinity, dic = np.linspace(20, 300, 15)[:, None], np.linspace(0.5, 6, 12)
    plane = from_carbon(Water(7.5, alkalinity), dic)
    assert plane.ph.shape == (15, 12)
    assert np.all(np.diff(plane.ph, axis=0) > 0)
    assert np.all(np.diff(plane.ph, axis=1) < 0)


def test_a_water_that_is_at_its_place_at_once_does_not_end_the_search_for_the_others() -> None:
    water = Water(7.4, 100.0, free_chlorine=4.0, cyanuric_acid=40.0)
    found = from_carbon(replace(water, ph=np.array([7.4, 4.0, 11.0])), speciate(water).dic)
    np.testing.assert_allclose(found.ph, 7.4, atol=1e-7)


def test_no_water_at_all_is_an_array_too() -> None:
    none = Water(np.array([]), 90.0, cyanuric_acid=30.0, free_chlorine=4.0)
    assert speciate(none).saturation_index.shape == (0,)
    assert add(none, "sodium_bicarbonate", 10.0).ph.shape == (0,)
    assert active_chlorine(np.array([]), 30.0, 7.4, 38.0).hocl.shape == (0,)
    assert active_chlorine(np.zeros((2, 0)), 30.0, 7.4, 38.0).bound.shape == (2, 0)

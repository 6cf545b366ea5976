"""Random waters that stand in no table, each computed by PHREEQC as the test runs."""

from collections.abc import Iterator

import numpy as np
import pytest

from dosing import SUBSTANCES, Water, active_chlorine, add, equilibrate, heat, mix, speciate, spend
from tests.dosing.water.phreeqc_water import MOLE, Answer, SecondOpinion, react

PH = 0.001
SATURATION_INDEX = 0.002


@pytest.fixture(scope="module")
def second_opinion() -> SecondOpinion:
    return SecondOpinion()


def waters(seed: int, count: int, *, chlorine: bool = False, bromine: bool = False) -> Iterator[Water]:
    """Waters from the whole rated range, those left out whose alkalinity is all cyanurate and borate."""
    random = np.random.default_rng(seed)
    while count:
        water = Water(
            ph=random.uniform(6, 9),
            alkalinity=random.uniform(5, 400),
            calcium_hardness=random.uniform(2, 800),
            cyanuric_acid=random.choice([0.0, random.uniform(0, 300)]),
            borate=random.choice([0.0, random.uniform(0, 100)]),
            temperature=random.uniform(5, 42),
            tds=random.uniform(100, 4000),
            free_chlorine=random.uniform(0.1, 30) if chlorine else 0.0,
            bromine=random.uniform(0.1, 30) if bromine else 0.0,
        )
        start = speciate(water)
        if start.carbonate_alkalinity > 5 and start.chloride > 0.01:
            count -= 1
            yield water


def assert_agrees(water: Water, answer: Answer) -> None:
    found = speciate(water)
    assert water.ph == pytest.approx(answer.ph, abs=PH)
    assert found.saturation_index == pytest.approx(answer.saturation_index, abs=SATURATION_INDEX)
    assert water.alkalinity == pytest.approx(answer.alkalinity * 50043.5, abs=0.03)
    assert found.dic == pytest.approx(answer.dic * 1e3, rel=1e-3)
    assert found.ionic_strength == pytest.approx(answer.ionic_strength, rel=2e-3)


@pytest.mark.parametrize(("chlorine", "bromine"), [(False, False), (True, False), (False, True), (True, True)])
def test_speciation(second_opinion: SecondOpinion, chlorine: bool, bromine: bool) -> None:
    for water in waters(1, 60, chlorine=chlorine, bromine=bromine):
        found = speciate(water)
        answer = second_opinion.ask(water, found)
        assert_agrees(water, answer)
        assert found.pco2 == pytest.approx(answer.pco2, rel=1e-3)
        assert found.hocl == pytest.approx(answer.hocl * 70906, rel=2e-3, abs=1e-9)
        assert found.ocl == pytest.approx(answer.ocl * 70906, rel=2e-3, abs=1e-9)


@pytest.mark.parametrize("substance", MOLE)
def test_a_dose_of_every_substance(second_opinion: SecondOpinion, substance: str) -> None:
    random = np.random.default_rng(sum(map(ord, substance)))
    for water in waters(2, 12, chlorine=substance == "sodium_hypochlorite"):
        if water.alkalinity < 40:
            continue
        milligrams = random.uniform(1, 40)
        moles = milligrams / SUBSTANCES[substance].molar_mass
        answer = second_opinion.ask(water, speciate(water), react({MOLE[substance]: moles}))
        if 4.5 < answer.ph < 10.5:
            assert_agrees(add(water, substance, milligrams), answer)


def test_every_substance_but_the_reducers_is_compared() -> None:
    assert set(SUBSTANCES) - set(MOLE) == {"sodium_thiosulfate", "sodium_sulfite", "ascorbic_acid"}


def test_a_long_chain_of_doses_stays_exact(second_opinion: SecondOpinion) -> None:
    chain = ["sodium_bisulfate", "sodium_carbonate", "sodium_dichlor", "potassium_monopersulfate", "calcium_chloride",
             "sodium_bicarbonate", "sulfuric_acid", "borax_pentahydrate", "lithium_hypochlorite", "bcdmh"]  # fmt: skip
    for start in waters(3, 15):
        if start.alkalinity < 60:
            continue
        water, moles = start, {}
        for substance in chain:
            water = add(water, substance, 15.0)
            moles[MOLE[substance]] = 15.0 / SUBSTANCES[substance].molar_mass
        assert_agrees(water, second_opinion.ask(start, speciate(start), react(moles)))


def test_spent_chlorine_becomes_chloride_and_acid(second_opinion: SecondOpinion) -> None:
    for water in waters(4, 30, chlorine=True):
        used = 0.7 * water.free_chlorine
        moles = used / 70.906
        answer = second_opinion.ask(water, speciate(water), react({"HOOxc": -moles, "HCl": moles}))
        if answer.alkalinity > 2e-4:
            assert_agrees(spend(water, used), answer)


def test_spent_bromine_becomes_bromide_and_acid(second_opinion: SecondOpinion) -> None:
    for water in waters(5, 20, bromine=True):
        used = 0.7 * water.bromine
        moles = used / 159.808
        answer = second_opinion.ask(water, speciate(water), react({"HOOxb": -moles, "HBr": moles}))
        if answer.alkalinity > 2e-4:
            assert_agrees(spend(water, used), answer)


@pytest.mark.parametrize(
    ("substance", "left"),
    [
        ("sodium_thiosulfate", {"Na2SO4": 1.0, "H2SO4": 1.0, "HCl": 4.0, "HOOxc": -4.0}),
        ("sodium_sulfite", {"Na2SO4": 1.0, "HCl": 1.0, "HOOxc": -1.0}),
        ("ascorbic_acid", {"HCl": 1.0, "HOOxc": -1.0}),
    ],
)
def test_reducers_take_chlorine_at_once(second_opinion: SecondOpinion, substance: str, left: dict[str, float]) -> None:
    for water in waters(6, 15, chlorine=True):
        moles = 0.5 * water.free_chlorine / 70.906 / SUBSTANCES[substance].reduces
        answer = second_opinion.ask(water, speciate(water), react({formula: n * moles for formula, n in left.items()}))
        if answer.alkalinity > 2e-4:
            after = add(water, substance, moles * SUBSTANCES[substance].molar_mass)
            assert_agrees(after, answer)
            assert after.free_chlorine == pytest.approx(0.5 * water.free_chlorine)


def test_heating(second_opinion: SecondOpinion) -> None:
    random = np.random.default_rng(7)
    for water in waters(7, 40, chlorine=True):
        celsius = random.uniform(5, 42)
        then = f"USE solution 1\nREACTION_TEMPERATURE 1\n{celsius:.12g}\nEND\n"
        assert_agrees(heat(water, celsius), second_opinion.ask(water, speciate(water), then))


def test_aeration(second_opinion: SecondOpinion) -> None:
    for water in waters(8, 40):
        then = f"USE solution 1\nEQUILIBRIUM_PHASES 1\nCO2(g) {np.log10(420e-6):.12g} 10\nEND\n"
        answer = second_opinion.ask(water, speciate(water), then)
        if answer.ph < 10:
            assert_agrees(equilibrate(water, 420e-6), answer)


def test_mixing(second_opinion: SecondOpinion) -> None:
    pairs = zip(waters(9, 30, chlorine=True), waters(10, 30, bromine=True), strict=True)
    for tub, other in pairs:
        fill = Water(other.ph, other.alkalinity, other.calcium_hardness, temperature=tub.temperature, tds=other.tds)
        second_opinion.ask(fill, speciate(fill), "COPY solution 1 2\nEND\n")
        answer = second_opinion.ask(tub, speciate(tub), "MIX 1\n1 0.35\n2 0.65\nEND\n")
        assert_agrees(mix(tub, fill, 0.65), answer)


def test_active_chlorine_at_a_water_s_own_ionic_strength(second_opinion: SecondOpinion) -> None:
    for water in waters(11, 40, chlorine=True):
        start = speciate(water)
        answer = second_opinion.ask(water, start)
        shares = active_chlorine(
            water.free_chlorine,
            water.cyanuric_acid,
            water.ph,
            water.temperature,
            ionic_strength=start.ionic_strength,
        )
        assert shares.hocl == pytest.approx(answer.hocl * 70906, rel=3e-3)
        assert shares.hocl + shares.ocl + shares.bound == pytest.approx(water.free_chlorine)

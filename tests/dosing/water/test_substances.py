"""The table of substances against stoichiometry worked out apart from it."""

import re

import pytest

from dosing import SUBSTANCES

# mg/L (DIC: micromol/L) for each mg/L of the pure substance; chlorine as Cl2, bromine as Br2 with all of the chlorine
# and bromide turned to it, alkalinity fresh and spent, DIC, hardness, cyanuric acid, boron, dissolved solids.
EFFECTS = {
    "sodium_bicarbonate": (0, 0, 0.5957, 0.5957, 11.9039, 0, 0, 0, 1),
    "sodium_carbonate": (0, 0, 0.9443, 0.9443, 9.4351, 0, 0, 0, 1),
    "sodium_sesquicarbonate": (0, 0, 0.6642, 0.6642, 8.8486, 0, 0, 0, 0.8406),
    "sodium_hydroxide": (0, 0, 1.2512, 1.2512, 0, 0, 0, 0, 1),
    "sodium_bisulfate": (0, 0, -0.4168, -0.4168, 0, 0, 0, 0, 1),
    "hydrochloric_acid": (0, 0, -1.3727, -1.3727, 0, 0, 0, 0, 1),
    "sulfuric_acid": (0, 0, -1.0205, -1.0205, 0, 0, 0, 0, 1),
    "sodium_dichlor": (0.5540, 0, 0.1955, -0.1955, 0, 0, 0.5043, 0, 0.8592),
    "sodium_dichlor_anhydrous": (0.6447, 0, 0.2275, -0.2275, 0, 0, 0.5869, 0, 1),
    "trichlor": (0.9152, 0, 0, -0.6460, 0, 0, 0.5554, 0, 1),
    "sodium_hypochlorite": (0.9525, 0, 0.6723, 0, 0, 0, 0, 0, 1),
    "calcium_hypochlorite": (0.9918, 0, 0.7000, 0, 0, 0.7000, 0, 0, 1),
    "lithium_hypochlorite": (1.2144, 0, 0.8571, 0, 0, 0, 0, 0, 1),
    "potassium_monopersulfate": (0, 0, -0.0814, -0.2442, 0, 0, 0, 0, 1),
    "bcdmh": (0.2936, 1.3236, 0, -0.4145, 0, 0, 0, 0, 1),
    "sodium_bromide": (0, 1.5531, 0, 0, 0, 0, 0, 0, 1),
    "calcium_chloride": (0, 0, 0, 0, 0, 0.9019, 0, 0, 1),
    "calcium_chloride_dihydrate": (0, 0, 0, 0, 0, 0.6808, 0, 0, 0.7549),
    "borax_decahydrate": (0, 0, 0.2625, 0.2625, 0, 0, 0, 0.1134, 0.7691),
    "borax_pentahydrate": (0, 0, 0.3436, 0.3436, 0, 0, 0, 0.1484, 1.0069),
    "boric_acid": (0, 0, 0, 0, 0, 0, 0, 0.1748, 1),
    "cyanuric_acid": (0, 0, 0, 0, 0, 0, 1.0000, 0, 1),
    "sodium_thiosulfate": (-1.7938, 0, 0, -1.8992, 0, 0, 0, 0, 1),
    "sodium_sulfite": (-0.5625, 0, 0, -0.3971, 0, 0, 0, 0, 1),
    "ascorbic_acid": (-0.4026, 0, -0.2841, -0.2841, 0, 0, 0, 0, 1),
    "sodium_chloride": (0, 0, 0, 0, 0, 0, 0, 0, 1),
}

WEIGHT = {"H": 1.008, "Li": 6.94, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "Na": 22.990, "S": 32.06,
          "Cl": 35.45, "K": 39.098, "Ca": 40.078, "Br": 79.904}  # fmt: skip
"""IUPAC 2021, abridged."""


def test_every_substance_is_listed_under_its_own_name() -> None:
    assert set(EFFECTS) == set(SUBSTANCES)
    assert all(substance.name == name and substance.source for name, substance in SUBSTANCES.items())


@pytest.mark.parametrize("name", EFFECTS)
def test_effects_by_stoichiometry(name: str) -> None:
    each = SUBSTANCES[name]
    found = (
        each.free_chlorine,
        each.bromine_yield,
        each.alkalinity,
        each.alkalinity_spent,
        each.dic * 1e3,
        each.calcium_hardness,
        each.cyanuric_acid,
        each.borate,
        each.tds,
    )
    assert found == pytest.approx(EFFECTS[name], rel=2e-4, abs=6e-5)


@pytest.mark.parametrize("name", EFFECTS)
def test_molar_masses_are_those_of_the_formulas(name: str) -> None:
    written = SUBSTANCES[name].formula.replace("Ca(OCl)2", "CaO2Cl2")
    mass = 0.0
    for part in written.split("."):
        count, atoms = re.fullmatch(r"(\d*)(.+)", part).groups()
        mass += int(count or 1) * sum(
            WEIGHT[atom] * int(n or 1) for atom, n in re.findall(r"([A-Z][a-z]?)(\d*)", atoms)
        )
    assert SUBSTANCES[name].molar_mass == pytest.approx(mass, abs=0.004)


def test_bcdmh_brings_as_many_moles_of_bromine_as_of_chlorine() -> None:
    each = SUBSTANCES["bcdmh"]
    assert each.bromine == pytest.approx(0.6618, abs=1e-4)
    assert each.bromine / 159.808 == pytest.approx(each.free_chlorine / 70.906)


def test_what_each_substance_brings_is_electroneutral_with_whole_atoms_of_sodium() -> None:
    for each in SUBSTANCES.values():
        for brings in (each.fresh, each.spent):
            sodium = (
                brings.alkalinity
                + brings.chloride
                + brings.bromide
                + 2 * (brings.sulfate - brings.calcium)
                - brings.potassium
                - brings.lithium
            )
            assert sodium == {"sodium_carbonate": 2, "sodium_sesquicarbonate": 3}.get(
                each.name, (2 if "Na2" in each.formula else 1) if "Na" in each.formula else 0
            ), each.name

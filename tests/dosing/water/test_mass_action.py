"""Every constant between concentrations against its reaction as chemists write it."""

import numpy as np
import pytest

from dosing.activity import Coefficients
from dosing.chlorine import Rings
from dosing.massaction import Constants, between_concentrations

GAMMA = Coefficients._make(np.array([each]) for each in np.linspace(0.55, 0.93, len(Coefficients._fields)))
BY_NAME = {
    "OH-": GAMMA.hydroxide, "HCO3-": GAMMA.bicarbonate, "CO3--": GAMMA.bicarbonate**4, "Ca++": GAMMA.calcium,
    "CaHCO3+": GAMMA.calcium_bicarbonate, "Na+": GAMMA.sodium, "NaHCO3": GAMMA.neutral**2, "SO4--": GAMMA.sulfate,
    "NaSO4-": GAMMA.sodium_sulfate, "CO2": GAMMA.carbon_dioxide, "H2O": GAMMA.water,
}  # fmt: skip
REACTIONS = {
    # What gives off H+ is written without it: its activity is the pH.
    "hydroxide": "H2O = OH-", "k1": "CO2 H2O = HCO3-", "k2": "HCO3- = CO3--", "gas": "CO2 = ",
    "calcite": "Ca++ CO3-- = ", "calcium_carbonate": "Ca++ CO3-- = CaCO3",
    "calcium_bicarbonate": "Ca++ HCO3- = CaHCO3+", "calcium_hydroxide": "Ca++ H2O = CaOH+",
    "sodium_bicarbonate": "Na+ HCO3- = NaHCO3", "calcium_sulfate": "Ca++ SO4-- = CaSO4",
    "sodium_sulfate": "Na+ SO4-- = NaSO4-", "bisulfate": "SO4-- = HSO4-",
    "boric": "H3BO3 = H2BO3-", "hypochlorous": "HOCl = OCl-", "hypobromous": "HOBr = OBr-",
    "h2cy": "H3Cy = H2Cy-", "hcy": "H3Cy = HCy--", "cy": "H3Cy = Cy---", "h2clcy": "H3Cy HOCl = H2ClCy H2O",
    "hclcy": "H3Cy HOCl = HClCy- H2O", "clcy": "H3Cy HOCl = ClCy-- H2O", "hcl2cy": "H3Cy HOCl HOCl = HCl2Cy H2O H2O",
    "cl2cy": "H3Cy HOCl HOCl = Cl2Cy- H2O H2O", "cl3cy": "H3Cy HOCl HOCl HOCl = Cl3Cy H2O H2O H2O",
}  # fmt: skip


def gamma(species: str) -> float:
    """Its own activity coefficient, else that of its charge."""
    charge = species.count("-") + species.count("+")
    own = GAMMA.single ** (charge * charge) if charge else GAMMA.neutral
    return float(BY_NAME.get(species, own)[0])


@pytest.mark.parametrize("name", REACTIONS)
def test_activity_coefficients_enter_as_the_reaction_says(name: str) -> None:
    one = np.ones(1)
    thermodynamic = Constants._make([*[one] * (len(Constants._fields) - 1), Rings._make([one] * len(Rings._fields))])
    found = between_concentrations(thermodynamic, GAMMA)
    before, after = (np.prod([gamma(species) for species in side.split()]) for side in REACTIONS[name].split("="))
    assert getattr(found if name in Constants._fields else found.rings, name) == pytest.approx(before / after)


def test_every_constant_has_its_reaction() -> None:
    assert {*REACTIONS, "hydrogen", "rings"} == {*Constants._fields, *Rings._fields}

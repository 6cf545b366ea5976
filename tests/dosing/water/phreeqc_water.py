"""PHREEQC as a second opinion on any water: a solution made from a speciated start, and what is then done to it."""

from __future__ import annotations

from pathlib import Path
from typing import NamedTuple

from phreeqc import Phreeqc

from dosing import Speciation, Water

EXTENSION = Path(__file__).parent / "data" / "cyanurate_and_chlorine.pqi"
PUNCH = """
SELECTED_OUTPUT
-reset false
USER_PUNCH
-headings pH SI DIC I Alk logCO2 hocl ocl
10 PUNCH -LA("H+"), SI("Calcite"), TOT("C"), MU, ALK, SI("CO2(g)"), MOL("HOOxc"), MOL("OOxc-")
END
"""
MOLE = {
    "sodium_bicarbonate": "NaHCO3",
    "sodium_carbonate": "Na2CO3",
    "sodium_sesquicarbonate": "Na3H(CO3)2",
    "sodium_hydroxide": "NaOH",
    "sodium_bisulfate": "NaHSO4",
    "hydrochloric_acid": "HCl",
    "sulfuric_acid": "H2SO4",
    "sodium_dichlor": "NaRingOxc2",
    "sodium_dichlor_anhydrous": "NaRingOxc2",
    "trichlor": "RingOxc3",
    "sodium_hypochlorite": "NaOOxc",
    "calcium_hypochlorite": "CaO2Oxc2",
    "lithium_hypochlorite": "LiOOxc",
    "potassium_monopersulfate": "K5H3(SO4)4",
    "bcdmh": "HOOxcHOOxb",
    "sodium_bromide": "NaBr",
    "calcium_chloride": "CaCl2",
    "calcium_chloride_dihydrate": "CaCl2",
    "borax_decahydrate": "Na2B4O7",
    "borax_pentahydrate": "Na2B4O7",
    "boric_acid": "H3BO3",
    "cyanuric_acid": "H3Ring",
    "sodium_chloride": "NaCl",
}
"""What a mole of each pure substance is to PHREEQC; hydrate water left out."""


class Answer(NamedTuple):
    """PHREEQC's end state: pH, calcite index, mol/kg, eq/kg, atm."""

    ph: float
    saturation_index: float
    dic: float
    ionic_strength: float
    alkalinity: float
    pco2: float
    hocl: float
    ocl: float


class UnsolvedError(Exception):
    """PHREEQC did not converge."""


class SecondOpinion:
    """One PHREEQC with the extension loaded."""

    def __init__(self) -> None:
        self.engine = Phreeqc()
        assert self.engine.LoadBuiltInDatabase("phreeqc.dat") == 0
        self._run(EXTENSION.read_text(encoding="utf-8"))
        self._run(PUNCH)

    def _run(self, text: str) -> None:
        if self.engine.RunString(text):
            raise UnsolvedError(self.engine.GetErrorString())

    def ask(self, water: Water, start: Speciation, then: str = "") -> Answer:
        """A water at its pH and alkalinity with the sodium and chloride given; `then` is PHREEQC input that goes on."""
        elements = {
            "Ca": water.calcium_hardness / 100.0869,
            "B": water.borate / 10.811,
            "Ring": water.cyanuric_acid / 129.074,
            "Oxc": water.free_chlorine / 70.906,
            "Oxb": water.bromine / 159.808,
            "Na": start.sodium,
        }
        lines = [f"{name} {amount:.12g}" for name, amount in elements.items() if amount > 0]
        text = (
            f"SOLUTION 1\n-units mmol/kgw\ntemp {water.temperature:.12g}\npH {water.ph:.12g}\n"
            f"Alkalinity {water.alkalinity / 50.0435:.12g}\nCl {start.chloride:.12g} charge\n" + "\n".join(lines)
        )
        self._run(f"{text}\nSAVE solution 1\nEND\n{then}")
        columns = self.engine.GetSelectedOutput()
        last = {name: column[-1] for name, column in columns.items()}
        return Answer(
            last["pH"], last["SI"], last["DIC"], last["I"], last["Alk"], 10 ** last["logCO2"], last["hocl"], last["ocl"]
        )


def react(moles_by_formula: dict[str, float]) -> str:
    """PHREEQC input that dissolves so many mmol of each formula in solution 1."""
    lines = "\n".join(f"{formula} {mmol * 1e-3:.12g}" for formula, mmol in moles_by_formula.items())
    return f"USE solution 1\nREACTION 1\n{lines}\n1 moles in 1 step\nEND\n"

"""The true water of a tub: a solution that PHREEQC keeps, and nothing of ours computes."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import NamedTuple

from phreeqc import Phreeqc

from tests.dosing.water.phreeqc_water import EXTENSION, MOLE

AIR = 420e-6
"""atm of carbon dioxide outdoors; NOAA Mauna Loa, 2022 to 2024: 418 to 425 ppm."""
CL2 = 70.906
CYANURIC_ACID = 129.074
CACO3 = 100.0869
CACO3_PER_EQUIVALENT = 50.0435
WATER = 18.015

MASS = {
    "sodium_bicarbonate": 84.006,
    "sodium_carbonate": 105.988,
    "sodium_bisulfate": 120.054,
    "sodium_dichlor": 255.971,
    "sodium_hypochlorite": 74.439,
    "potassium_monopersulfate": 614.737,
    "calcium_chloride": 110.978,
}
"""g/mol of what an owner pours, written out again so that the bookkeeping of the library is not checked by itself."""

_PUNCH = f"""
SELECTED_OUTPUT
-reset false
USER_PUNCH
-headings ph alk co2 dic fc ring ca mu si henry
10 PUNCH -LA("H+"), ALK, MOL("CO2"), TOT("C(4)"), TOT("Oxc"), TOT("Ring"), TOT("Ca"), MU, SI("Calcite")
20 PUNCH MOL("CO2") * {AIR} / 10 ^ SI("CO2(g)")
END
"""


@dataclass(frozen=True, slots=True)
class Source:
    """The water that comes out of the tap; mg/L as CaCO3, degC."""

    ph: float
    alkalinity: float
    hardness: float
    temperature: float = 14.0


class State(NamedTuple):
    """What is in the tub; mg/L (alkalinity and hardness as CaCO3), CO2 and DIC in mmol/kg."""

    ph: float
    alkalinity: float
    carbonate_alkalinity: float
    """Total alkalinity less a third of the cyanurate, as the trade reckons it."""
    free_chlorine: float
    cyanurate: float
    hardness: float
    carbon_dioxide: float
    carbon_dioxide_of_air: float
    """What the water would hold at rest with the air."""
    dic: float
    ionic_strength: float
    saturation_index: float


class TrueWater:
    """One kilogram of the tub, as solution 1; what comes from the tap is solution 2."""

    def __init__(self, source: Source, temperature: float) -> None:
        self._engine = Phreeqc()
        assert self._engine.LoadBuiltInDatabase("phreeqc.dat") == 0
        self._run(EXTENSION.read_text(encoding="utf-8"))
        self._run(_PUNCH)
        calcium, alkalinity = source.hardness / CACO3, source.alkalinity / CACO3_PER_EQUIVALENT
        sodium = 0.5 + max(0.0, 1.2 * alkalinity - 2 * calcium)
        self._run(
            f"SOLUTION 2\n-units mmol/kgw\ntemp {source.temperature}\npH {source.ph}\npe 14\n"
            f"Alkalinity {alkalinity}\nCa {calcium}\nNa {sodium}\nCl 1 charge\nSAVE solution 2\nEND\n"
        )
        self.fill(temperature)

    def _run(self, text: str) -> None:
        assert self._engine.RunString(text) == 0, self._engine.GetErrorString()

    def fill(self, temperature: float) -> None:
        """All water anew, warmed in a closed pipe."""
        self._run(f"USE solution 2\nREACTION_TEMPERATURE 1\n{temperature}\nSAVE solution 1\nEND\n")
        self._look()

    def change(
        self,
        moles: Mapping[str, float],
        temperature: float,
        *,
        splashed: float = 0.0,
        evaporated: float = 0.0,
    ) -> None:
        """So many mmol/kg of each formula dissolve (or go), and what splashed out and evaporated, as shares of the
        water, is topped up from the tap.
        """
        reagents = "".join(f"{formula} {mmol * 1e-3:.10g}\n" for formula, mmol in moles.items() if mmol)
        self._run(
            f"MIX 1\n1 {1 - splashed:.10g}\n2 {splashed + evaporated:.10g}\n"
            f"REACTION 1\n{reagents}H2O {-evaporated * 1e3 / WATER:.10g}\n1 moles in 1 step\n"
            f"REACTION_TEMPERATURE 1\n{temperature:.6g}\nSAVE solution 1\nEND\n"
        )
        self._look()

    def _look(self) -> None:
        columns = self._engine.GetSelectedOutput()
        row = {name: float(column[-1]) for name, column in columns.items()}
        total = row["alk"] * 1e3 * CACO3_PER_EQUIVALENT
        cyanurate = row["ring"] * 1e3 * CYANURIC_ACID
        self.state = State(
            ph=row["ph"],
            alkalinity=total,
            carbonate_alkalinity=total - cyanurate / 3,
            free_chlorine=row["fc"] * 1e3 * CL2,
            cyanurate=cyanurate,
            hardness=row["ca"] * 1e3 * CACO3,
            carbon_dioxide=row["co2"] * 1e3,
            carbon_dioxide_of_air=row["henry"] * 1e3,
            dic=row["dic"] * 1e3,
            ionic_strength=row["mu"],
            saturation_index=row["si"],
        )


def dissolved(grams: Mapping[str, float], litres: float) -> dict[str, float]:
    """mmol/kg of each formula of PHREEQC's that grams of pure substances are in so many litres."""
    return {MOLE[name]: amount / MASS[name] / litres * 1e3 for name, amount in grams.items()}


def used_up(chlorine: float) -> dict[str, float]:
    """What becomes of so many mg/L of free chlorine as it oxidises: chloride, acid, and oxygen for what it met."""
    mmol = chlorine / CL2
    return {"HOOxc": -mmol, "HCl": mmol, "O": mmol}

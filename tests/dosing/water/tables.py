"""The reference tables beside this file, and the products that they name."""

from __future__ import annotations

import csv
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from dosing import Water, add

DATA = Path(__file__).parent / "data"
NACL_PER_NAOCL = 58.443 / 74.439

PRODUCTS = {
    "sodium_bicarbonate_100": {"sodium_bicarbonate": 1.0},
    "sodium_carbonate_100": {"sodium_carbonate": 1.0},
    "sodium_sesquicarbonate_100": {"sodium_sesquicarbonate": 1.0},
    "sodium_hydroxide_100": {"sodium_hydroxide": 1.0},
    "sodium_bisulfate_93.2": {"sodium_bisulfate": 0.932},
    "hydrochloric_acid_31.45": {"hydrochloric_acid": 0.3145},
    "calcium_chloride_100": {"calcium_chloride": 1.0},
    "calcium_chloride_77": {"calcium_chloride": 0.77},
    "borax_decahydrate_100": {"borax_decahydrate": 1.0},
    "boric_acid_100": {"boric_acid": 1.0},
    "cyanuric_acid_100": {"cyanuric_acid": 1.0},
    "dichlor_dihydrate_100": {"sodium_dichlor": 1.0},
    "trichlor_100": {"trichlor": 1.0},
    "sodium_hypochlorite_12.5wt": {
        "sodium_hypochlorite": 0.125,
        "sodium_chloride": 0.125 * NACL_PER_NAOCL,
        "sodium_hydroxide": 0.003,
    },
    "calcium_hypochlorite_67": {"calcium_hypochlorite": 0.6756, "calcium_chloride": 0.05},
    "lithium_hypochlorite_35": {"lithium_hypochlorite": 0.2882},
    "bcdmh_100": {"bcdmh": 1.0},
    "mps_triple_salt_spent_100": {"potassium_monopersulfate": 1.0},
}
STATE = ("ph", "alkalinity", "calcium_hardness", "cyanuric_acid", "borate", "temperature", "tds")


class Table:
    """Columns of numbers (and of names), by heading."""

    def __init__(self, name: str) -> None:
        with (DATA / f"{name}.csv").open(encoding="utf-8") as file:
            self.rows = list(csv.DictReader(file))

    def __getitem__(self, column: str) -> NDArray[np.float64]:
        return np.array([float(row[column]) for row in self.rows])

    def names(self, column: str) -> NDArray[np.str_]:
        return np.array([row[column] for row in self.rows])

    def water(self, prefix: str = "", rows: NDArray[np.bool_] | slice = slice(None)) -> Water:
        return Water(**{name: self[prefix + name][rows] for name in STATE})


def dose(water: Water, product: str, mg_per_litre: NDArray[np.float64]) -> Water:
    for substance, fraction in PRODUCTS[product].items():
        water = add(water, substance, mg_per_litre * fraction)
    return water

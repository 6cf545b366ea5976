"""How near to PHREEQC over the whole rated range: `python -m tests.bench.accuracy [waters an operation] [seed]`.

Fresh random waters that stand in no table, each computed by PHREEQC as this runs. Doses are kept where they end between
pH 5 and 10.5, as in the reference tables. A row that holds no calcium has no saturation index.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from dosing import SUBSTANCES, Water, active_chlorine, add, equilibrate, heat, mix, speciate, spend
from tests.dosing.water.phreeqc_water import MOLE, Answer, SecondOpinion, UnsolvedError, react

LEAST_CARBONATE = 3.0
"""mg/L of carbonate alkalinity below which neither library computes a pH that means anything."""


class Off(NamedTuple):
    """By how much a row differs: pH, saturation index, and the greatest share by which another figure differs."""

    ph: float
    saturation_index: float
    other: float


def waters(random: np.random.Generator, *, chlorine: bool, bromine: bool) -> Iterator[Water]:
    def now_and_then(high: float) -> float:
        return float(random.choice([0.0, random.uniform(0, high)]))

    while True:
        water = Water(
            ph=random.uniform(6, 9),
            alkalinity=random.uniform(0, 400),
            calcium_hardness=random.uniform(0, 800) if random.random() > 0.05 else 0.0,
            cyanuric_acid=now_and_then(300),
            borate=now_and_then(100),
            temperature=random.uniform(5, 42),
            tds=random.uniform(100, 4000),
            free_chlorine=random.uniform(0.1, 20) if chlorine else 0.0,
            bromine=random.uniform(0.1, 40) if bromine else 0.0,
        )
        if speciate(water).carbonate_alkalinity >= LEAST_CARBONATE:
            yield water


def off(water: Water, answer: Answer) -> Off | None:
    if not 5.0 <= answer.ph <= 10.5 or answer.alkalinity < 5.0 / 50043.5:
        return None
    found = speciate(water)
    index = 0.0 if water.calcium_hardness < 1e-6 else found.saturation_index - answer.saturation_index
    shares = [found.dic / (answer.dic * 1e3), found.ionic_strength / answer.ionic_strength]
    shares += [water.alkalinity / (answer.alkalinity * 50043.5)]
    return Off(abs(water.ph - answer.ph), abs(index), max(abs(share - 1.0) for share in shares))


class Bench:
    """Draws waters and asks both."""

    def __init__(self, seed: int) -> None:
        self.random = np.random.default_rng(seed)
        self.engine = SecondOpinion()
        self.unsolved = 0

    def rows(self, count: int, compare: Callable[[Water], Off | None], *, chlorine: bool = False,
             bromine: bool = False) -> NDArray[np.float64]:  # fmt: skip
        found: list[Off] = []
        for water in waters(self.random, chlorine=chlorine, bromine=bromine):
            try:
                row = compare(water)
            except UnsolvedError:
                self.unsolved += 1
                continue
            if row is not None:
                found.append(row)
            if len(found) == count:
                return np.array(found)
        raise AssertionError

    def ask(self, water: Water, then: str = "") -> Answer:
        return self.engine.ask(water, speciate(water), then)

    def speciated(self, water: Water) -> Off | None:
        return off(water, self.ask(water))

    def dosed(self, substance: str) -> Callable[[Water], Off | None]:
        def compare(water: Water) -> Off | None:
            milligrams = self.random.uniform(0.5, 100)
            moles = milligrams / SUBSTANCES[substance].molar_mass
            return off(add(water, substance, milligrams), self.ask(water, react({MOLE[substance]: moles})))

        return compare

    def spent(self, water: Water) -> Off | None:
        element, mass, salt, there = ("HOOxc", 70.906, "HCl", water.free_chlorine)
        if water.bromine:
            element, mass, salt, there = ("HOOxb", 159.808, "HBr", water.bromine)
        used = self.random.uniform(0, 1) * there
        answer = self.ask(water, react({element: -used / mass, salt: used / mass}))
        return off(spend(water, used), answer)

    def heated(self, water: Water) -> Off | None:
        celsius = self.random.uniform(5, 42)
        then = f"USE solution 1\nREACTION_TEMPERATURE 1\n{celsius:.12g}\nEND\n"
        return off(heat(water, celsius), self.ask(water, then))

    def aired(self, water: Water) -> Off | None:
        pressure = 10 ** self.random.uniform(-3.4, np.log10(max(speciate(water).pco2, 10**-3.3)))
        then = f"USE solution 1\nEQUILIBRIUM_PHASES 1\nCO2(g) {np.log10(pressure):.12g} 10\nEND\n"
        return off(equilibrate(water, pressure), self.ask(water, then))

    def mixed(self, water: Water) -> Off | None:
        other = next(waters(self.random, chlorine=False, bromine=True))
        share = self.random.uniform(0, 1)
        fill = Water(other.ph, other.alkalinity, other.calcium_hardness, other.cyanuric_acid, other.borate,
                     water.temperature, other.tds, bromine=other.bromine)  # fmt: skip
        if speciate(fill).carbonate_alkalinity < LEAST_CARBONATE:
            return None
        self.ask(fill, "COPY solution 1 2\nEND\n")
        return off(mix(water, fill, share), self.ask(water, f"MIX 1\n1 {1 - share:.12g}\n2 {share:.12g}\nEND\n"))

    def active(self, water: Water) -> Off | None:
        start, answer = speciate(water), self.ask(water)
        shares = active_chlorine(water.free_chlorine, water.cyanuric_acid, water.ph, water.temperature,
                                 ionic_strength=start.ionic_strength)  # fmt: skip
        parts = (shares.hocl / (answer.hocl * 70906.0), shares.ocl / (answer.ocl * 70906.0))
        return Off(0.0, 0.0, max(abs(part - 1.0) for part in parts))


def main(count: int, seed: int) -> None:
    bench = Bench(seed)
    kinds: dict[str, Callable[[], NDArray[np.float64]]] = {
        "speciate, no halogen": lambda: bench.rows(count, bench.speciated),
        "speciate, chlorine": lambda: bench.rows(count, bench.speciated, chlorine=True),
        "speciate, bromine": lambda: bench.rows(count, bench.speciated, bromine=True),
        "spend, chlorine": lambda: bench.rows(count, bench.spent, chlorine=True),
        "spend, bromine": lambda: bench.rows(count, bench.spent, bromine=True),
        "heat": lambda: bench.rows(count, bench.heated, chlorine=True),
        "equilibrate": lambda: bench.rows(count, bench.aired),
        "mix": lambda: bench.rows(count, bench.mixed, chlorine=True),
        "active_chlorine": lambda: bench.rows(count, bench.active, chlorine=True),
        **{
            f"add {name}": lambda name=name: bench.rows(max(1, count // 4), bench.dosed(name), chlorine=True)
            for name in MOLE
        },
    }
    print(f"{'':34}{'rows':>6}  within 0.01 / 0.02   worst pH   worst SI   worst other")
    for kind, rows in kinds.items():
        found = rows()
        within = np.mean((found[:, 0] <= 0.01) & (found[:, 1] <= 0.02))
        ph, index, other = found.max(axis=0)
        print(f"{kind:34}{len(found):6}  {within:18.1%}  {ph:9.5f}  {index:9.5f}  {other:11.3%}", flush=True)
    print(f"{bench.unsolved} waters that PHREEQC itself did not solve were drawn again")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 400, int(sys.argv[2]) if len(sys.argv) > 2 else 1)

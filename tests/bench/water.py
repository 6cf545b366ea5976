"""How many waters a second, beside PHREEQC one by one: `python -m tests.bench.water [waters]`.

Both speciate the same random waters with carbonate, calcium, cyanurate, borate and chlorine, each water at its own
temperature. Times are the processor's own, best of several runs, taken in turn so that a busy machine slows both alike.
"""

from __future__ import annotations

import sys
import time
from collections.abc import Callable

import numpy as np

from dosing import Water, from_carbon, speciate
from tests.dosing.water.phreeqc_water import SecondOpinion

ROUNDS = 5
ONE_BY_ONE = 150


def random_waters(count: int) -> Water:
    random = np.random.default_rng(20)
    return Water(
        ph=random.uniform(6.8, 8.2, count),
        alkalinity=random.uniform(150, 300, count),
        calcium_hardness=random.uniform(20, 800, count),
        cyanuric_acid=random.uniform(1, 100, count),
        borate=random.uniform(1, 60, count),
        temperature=random.uniform(5, 42, count),
        tds=random.uniform(1500, 4000, count),
        free_chlorine=random.uniform(0.5, 15, count),
    )


def seconds(work: Callable[[], object]) -> float:
    start = time.process_time()
    work()
    return time.process_time() - start


def main(count: int) -> None:
    many = random_waters(count)
    few = [
        Water(**{name: float(getattr(many, name)[at]) for name in
                 ("ph", "alkalinity", "calcium_hardness", "cyanuric_acid", "borate", "temperature", "tds",
                  "free_chlorine")})
        for at in range(ONE_BY_ONE)
    ]  # fmt: skip
    starts = [speciate(water) for water in few]
    dic = speciate(many).dic
    second_opinion = SecondOpinion()

    def phreeqc() -> None:
        for water, start in zip(few, starts, strict=True):
            second_opinion.ask(water, start)

    def one_by_one() -> None:
        for water in few:
            speciate(water)

    plain = [Water(w.ph, w.alkalinity, w.calcium_hardness, temperature=w.temperature, tds=w.tds) for w in few]
    plain_starts = [speciate(water) for water in plain]

    def phreeqc_plain() -> None:
        for water, start in zip(plain, plain_starts, strict=True):
            second_opinion.ask(water, start)

    region = random_waters(200)
    best = dict.fromkeys(("array", "carbon", "region", "one", "phreeqc", "plain"), np.inf)
    for _ in range(ROUNDS):
        best["array"] = min(best["array"], seconds(lambda: speciate(many)) / count)
        best["phreeqc"] = min(best["phreeqc"], seconds(phreeqc) / ONE_BY_ONE)
        best["plain"] = min(best["plain"], seconds(phreeqc_plain) / ONE_BY_ONE)
        best["carbon"] = min(best["carbon"], seconds(lambda: from_carbon(many, dic)) / count)
        best["region"] = min(best["region"], seconds(lambda: speciate(region)))
        best["one"] = min(best["one"], seconds(one_by_one) / ONE_BY_ONE)

    print(f"PHREEQC one by one, all of it             {best['phreeqc'] * 1e6:8.1f} us a water")
    print(f"PHREEQC one by one, carbonate alone       {best['plain'] * 1e6:8.1f} us a water")
    print(f"speciate, {count} waters as an array    {best['array'] * 1e6:8.2f} us a water")
    print(f"from_carbon, the same                     {best['carbon'] * 1e6:8.2f} us a water")
    print(f"speciate, 200 waters as an array          {best['region'] * 1e3:8.2f} ms together")
    print(f"speciate, one water at a time             {best['one'] * 1e6:8.1f} us a water")
    print(f"waters a second against PHREEQC           {best['phreeqc'] / best['array']:8.0f} : 1")
    print(f"the same, PHREEQC with carbonate alone    {best['plain'] / best['array']:8.0f} : 1")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 100_000)

"""`python -m tests.season.policy MODULE:FACTORY`: a policy against the tubs of the season, in minutes.

Measured with `--baselines tests.season.careful:Careful tests.season.oracle:Oracle --tubs 48 --weeks 8 --seed 21`, a
seed on which nothing was tuned (phreeqc 1.1.1, numpy 2.4.6; % of days or of soaks, +- standard errors over tubs):

                               library       all-knowing    rule of thumb    and a spoon    calculator
    pH                        80.6 +- 2.3  90.5 +- 1.7   63.6 +- 2.4     40.9 +- 3.6   45.2 +- 3.0
    alkalinity                92.3 +- 1.9  55.2 +- 7.2   78.9 +- 4.3     85.5 +- 3.2   89.8 +- 2.0
    chlorine                  86.0 +- 1.2  94.6 +- 0.4    9.0 +- 1.5     38.1 +- 3.3   17.3 +- 2.0
    all three                 66.3 +- 2.3  51.5 +- 6.7    2.6 +- 0.6     11.1 +- 1.8    5.1 +- 1.0
    soaks with 1 mg/L         96.0 +- 0.8  99.2 +- 0.3   23.1 +- 2.2     69.4 +- 4.2   49.8 +- 3.9
    soaks with 3 mg/L         91.3 +- 1.4  97.8 +- 0.4   11.1 +- 1.4     47.9 +- 4.6   21.3 +- 2.9
    chlorine over 10           1.5 +- 0.4   0.3 +- 0.1    0.0            4.6 +- 1.8    0.5 +- 0.3
    doses past their range     2.2 +- 0.6  14.3 +- 0.9   39.5 +- 5.0     28.9 +- 4.6   34.2 +- 1.5
    additions a steady week    9.0 +- 0.3  21.7 +- 2.2    2.0            4.1 +- 0.2    5.4 +- 0.1
    tests a steady week        2.0 +- 0.1   0             1.0            1.0           1.0

The all-knowing one is a ceiling for chlorine and pH, none for alkalinity, which it cannot bring down. Of the library
with `--tubs 12 --weeks 12`, seeds 1 to 3: pH 89.1 +- 2.5, alkalinity 93.6 +- 2.7, chlorine 85.5 +- 1.6, all three
73.5 +- 3.0; soaks 95.7 +- 1.1 and 89.9 +- 1.7.

What is missed, % of days: pH over 7.8 while that is known and the next test waits 4, and while alkalinity far above
its range comes down by acid and air 4; chlorine under 3 after a dose that was forgotten 4 to 5, half of it in tubs
that lose more than 40 % a day, after a soak of which nobody told 1, and where bathers left more than an evening's
doses meet 3.
"""

from __future__ import annotations

import argparse
import importlib
from concurrent.futures import ProcessPoolExecutor

from tests.season.books import FIGURES, Book, all_three, figures, table
from tests.season.direct import play
from tests.season.draw import PERFECT, USUAL, draw
from tests.season.life import Manner

BASELINES = (
    "tests.season.baselines:Thumb",
    "tests.season.baselines:ThumbAndSpoon",
    "tests.season.baselines:Calculator",
)


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.season.policy")
    parser.add_argument("factories", nargs="*", help="MODULE:FACTORY, as many as wanted")
    parser.add_argument("--baselines", action="store_true", help="play the baselines beside them")
    parser.add_argument("--tubs", type=int, default=12)
    parser.add_argument("--weeks", type=int, default=26)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--meter", action="store_true", help="with a perfect meter in place of strips")
    parser.add_argument("--perfect-owner", action="store_true", help="no errors, nothing skipped or late")
    parser.add_argument("--by-tub", action="store_true", help="a line for each tub, the worst first")
    options = parser.parse_args()
    manner = Manner(PERFECT if options.perfect_owner else USUAL, options.meter)
    names = [*options.factories, *(BASELINES if options.baselines else ())] or [*BASELINES]
    columns: dict[str, list[Book]] = {}
    for name in names:
        work = [(name, number, options.seed, options.weeks, manner) for number in range(options.tubs)]
        if options.jobs > 1:
            with ProcessPoolExecutor(options.jobs) as pool:
                columns[name.rpartition(":")[2]] = list(pool.map(_one, work))
        else:
            columns[name.rpartition(":")[2]] = list(map(_one, work))
    print(table(columns))
    if options.by_tub:
        for name, books in columns.items():
            print(f"\n{name}")
            print("\n".join(by_tub(books)))


def _one(work: tuple[str, int, int, int, Manner]) -> Book:
    name, number, seed, weeks, manner = work
    module, _, factory = name.partition(":")
    return play(draw(number, seed, weeks), getattr(importlib.import_module(module), factory), manner)


def by_tub(books: list[Book]) -> list[str]:
    """What each tub is and how it went, the worst first."""

    def good(book: Book) -> float:
        scored = [noon.state for noon in book.noons if noon.scored]
        return sum(map(all_three, scored)) / max(1, len(scored))

    shown = [
        *list(FIGURES)[:2],
        "free chlorine 3-10",
        "all three",
        "pH under 7.2",
        "pH over 7.8",
        "alkalinity under 50",
        "alkalinity over 120",
        "chlorine under 3",
        "chlorine over 10",
    ]
    lines = []
    for book in sorted(books, key=good):
        make, found = book.case.make, figures([book])
        figure = " ".join(f"{name.split(' (')[0]} {found[name].value:.0f};" for name in shown)
        lines.append(
            f"tub {book.case.number:3d} {book.case.kit_name:12s} loss {make.loss:.2f} demand {make.demand:.1f} "
            f"litres {make.litres / book.case.stated:.2f} air {make.aired_rest:.2f}/{make.aired_jets:.1f} "
            f"source ta {make.source.alkalinity:.0f} ch {make.source.hardness:.0f} ph {make.source.ph:.1f} "
            f"soaks {len(book.case.soaks) / book.case.weeks:.1f}/wk | {figure} longest without a test "
            f"{book.longest_without(book.tests):.1f} d, a dose {book.longest_without(d.at for d in book.doses):.1f} d"
        )
    return lines

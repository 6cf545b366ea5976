"""`python -m tests.season.policy MODULE:FACTORY`: a policy against the tubs of the season, in minutes.

Measured of `tests.season.careful:Careful` with `--tubs 12 --weeks 12` and `--seed` 1, 2 and 3, 36 tubs together
(phreeqc 1.1.1, numpy 2.4.6; % of days or of soaks, errors over tubs): pH 86.9 +- 2.7, alkalinity 91.0 +-
3.3, chlorine 84.4 +- 1.9, all three 67.1 +- 3.6; soaks begun with 1 mg/L 94.4 +- 1.8, with 3 mg/L 88.7 +- 2.4; chlorine
over 10 1.5 +- 0.5; balancing doses past their range 2.7 +- 1.0; 8.8 additions and 1.9 tests a steady week. What is
missed: bathers who use more than 6 g an hour, taps above 190 mg/L of alkalinity, untold parties that look like a fast
loss, and bicarbonate at the fill of very soft water.
Not in it yet: since then a pad of ten holds back no acid where less is known to be there.
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

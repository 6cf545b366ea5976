"""`python -m tests.season`: owners who are led by the bot itself, against baselines without memory, on true water."""

from __future__ import annotations

import argparse
from collections.abc import Callable
from concurrent.futures import ProcessPoolExecutor

from tests.season import baselines, direct, owner
from tests.season.bench import by_tub
from tests.season.books import Book, table
from tests.season.careful import Careful
from tests.season.draw import PERFECT, USUAL, Case, draw
from tests.season.life import Manner

WAYS: dict[str, Callable[[Case, Manner], Book]] = {
    "bot": owner.play,
    "policy": lambda case, manner: direct.play(case, Careful, manner),
    "thumb": lambda case, manner: direct.play(case, baselines.Thumb, manner),
    "calculator": lambda case, manner: direct.play(case, baselines.Calculator, manner),
}
"""The bot in a chat; the same library followed without any chat; the trade's rule of thumb; a calculator."""


def main() -> None:
    parser = argparse.ArgumentParser(prog="python -m tests.season", description=__doc__)
    parser.add_argument("--tubs", type=int, default=12)
    parser.add_argument("--weeks", type=int, default=26)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0, help="number of the first tub, to go on where a run stopped")
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--meter", action="store_true", help="with a perfect meter in place of strips")
    parser.add_argument("--perfect-owner", action="store_true", help="no errors, nothing skipped or late")
    parser.add_argument("--only", choices=WAYS, action="append", help="play only this way (may be given again)")
    parser.add_argument("--by-tub", action="store_true", help="a line for each tub of the bot, the worst first")
    options = parser.parse_args()
    manner = Manner(PERFECT if options.perfect_owner else USUAL, options.meter)
    ways = options.only or ["bot", "thumb", "calculator"]
    numbers = range(options.first, options.first + options.tubs)
    work = [(way, number, options.seed, options.weeks, manner) for number in numbers for way in ways]
    with ProcessPoolExecutor(options.jobs) as pool:
        books = list(pool.map(_one, work))
    print(table({way: books[at :: len(ways)] for at, way in enumerate(ways)}))
    if options.by_tub:
        print("\n".join(by_tub(books[:: len(ways)])))


def _one(work: tuple[str, int, int, int, Manner]) -> Book:
    way, number, seed, weeks, manner = work
    return WAYS[way](draw(number, seed, weeks), manner)


if __name__ == "__main__":
    main()

"""Write as many texts as wanted and print what was found: `python -m tests.fuzz --texts 100000 --seed 1`.

`--walks 50` walks through the conversations by taps instead, so often in each language.
"""

import argparse
import sys
import time

from bot.talk.words import languages
from tests.fuzz.strolls import stroll
from tests.fuzz.walk import Tally, fuzz

BATCH = 1000
"""Texts between two lines of progress; each batch has a seed of its own, which repeats it alone."""


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.fuzz")
    parser.add_argument("--texts", type=int, default=100_000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--walks", type=int, default=0)
    options = parser.parse_args()
    if options.walks:
        return _walk(options.walks, options.seed)
    tally, began, shown = Tally(), time.monotonic(), 0
    for number in range(-(-options.texts // BATCH)):
        seed = options.seed + number
        fuzz(min(BATCH, options.texts - tally.texts), seed, tally)
        print(f"seed {seed}: {tally.texts} texts, {len(tally.faults)} faults", flush=True)
        for fault in tally.faults[shown:]:
            print(f"  {fault}", flush=True)
        shown = len(tally.faults)
    print(f"texts    {tally.texts}")
    print(f"others   {tally.others} (taps, old buttons, files, time passing)")
    print(f"seconds  {time.monotonic() - began:.0f}")
    print(f"faults   {len(tally.faults)}")
    return 1 if tally.faults else 0


def _walk(walks: int, seed: int) -> int:
    messages, faults = 0, 0
    asked: set[str] = set()
    for language in languages():
        for number in range(seed, seed + walks):
            walk = stroll(language, number)
            messages, faults, asked = messages + walk.messages, faults + len(walk.faults), asked | walk.asked
            for fault in walk.faults:
                print(f"{language} {number}: {fault}", flush=True)
    print(f"messages   {messages}")
    print(f"questions  {len(asked)}: {', '.join(sorted(asked))}")
    print(f"faults     {faults}")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())

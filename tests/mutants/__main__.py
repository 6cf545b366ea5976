"""Plant faults in the library, each by itself, and count how many its tests find: `python -m tests.mutants SEED N`.

A fault inside a function is tried in a fork by the tests that call that function; one that runs when a module is
imported by a new run of all tests. `--under dosing/season --tests tests/dosing/season` tries another part.
"""

from __future__ import annotations

import argparse
import random
import sys
from collections import Counter

import pytest

from tests.mutants.faults import faults
from tests.mutants.trial import ARGUMENTS, ROOT, Job, Trials, anew, told


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.mutants")
    parser.add_argument("seed", type=int)
    parser.add_argument("count", type=int, help="how many of all possible faults are tried")
    parser.add_argument("--under", default="dosing", help="the folder whose own modules get faults")
    parser.add_argument("--tests", nargs="+", default=["tests/dosing/water", "tests/dosing/plan"])
    parser.add_argument("--examples", type=int, default=5, help="most random examples that a test draws")
    options = parser.parse_args()
    jobs = [
        Job(path.relative_to(ROOT).as_posix(), number, fault.line, fault.function, str(fault))
        for path in sorted((ROOT / options.under).glob("*.py"))
        for number, fault in enumerate(faults(path.read_text("utf-8")))
    ]
    chosen = random.Random(options.seed).sample(jobs, min(options.count, len(jobs)))
    print(f"{len(chosen)} of {len(jobs)} faults; first every test once, without any", flush=True)
    trials = Trials([job for job in chosen if job.function], options.examples)
    pytest.main([*ARGUMENTS, *options.tests], plugins=[trials])
    if trials.failed:
        print(f"without any fault {trials.failed} fails already", file=sys.stderr)
        return 2
    left = [*trials.unreached, *(job for job in chosen if not job.function)]
    found = trials.found + [told(job, anew(job, options.tests, options.examples)) for job in left]
    by_module: dict[str, Counter[bool]] = {}
    for job, by in found:
        by_module.setdefault(job.path, Counter())[bool(by)] += 1
    for path, counts in sorted(by_module.items()):
        print(f"{path}  {counts[True]} of {counts.total()} found")
    killed = sum(bool(by) for _, by in found)
    print(f"{killed} of {len(found)} found, {killed / max(len(found), 1):.1%}")
    return 0


if __name__ == "__main__":
    sys.exit(main())

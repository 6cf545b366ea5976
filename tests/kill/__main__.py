"""Kill the program as often as wanted and print what was found: `python -m tests.kill --kills 200 --seed 1`."""

import argparse
import sys
import tempfile
from pathlib import Path

from tests.kill import books
from tests.kill.ordeal import endure


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.kill")
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--people", type=int, default=8)
    options = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        result = endure(Path(folder), kills=options.kills, seed=options.seed, people=options.people)
    wrong = books.of_count(result)
    print(f"kills                {result.kills}")
    print(f"updates              {result.made}, of which handed out more than once {result.handed_again}")
    print(
        f"messages sent        {sum(map(len, result.received.values()))}, of which marked repetitions {result.repeated}"
    )
    print(f"reminders given up   {sum(row[2] == 'failed' for rows in result.outbox.values() for row in rows)}")
    print(f"seconds              {result.seconds:.0f}")
    print(f"faults               {len(wrong)}")
    for fault in wrong[:20]:
        print(f"  {fault}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

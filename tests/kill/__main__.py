"""Kill the program as often as wanted and print what was found: `python -m tests.kill --kills 200 --seed 1`."""

import argparse
import sys
import tempfile
from pathlib import Path

from tests.kill import books
from tests.kill.ordeal import endure
from tests.store.server import Rooms, running_server


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.kill")
    parser.add_argument("--kills", type=int, default=100)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--people", type=int, default=8)
    parser.add_argument("--replicas", type=int, default=1, help="more than one: on a PostgreSQL, restarted once")
    options = parser.parse_args()
    how = {"kills": options.kills, "seed": options.seed, "people": options.people}
    with tempfile.TemporaryDirectory() as folder:
        if options.replicas == 1:
            result = endure(Path(folder), **how)
        else:
            with running_server() as server:
                place = Rooms(server.dsn).dsn
                result = endure(Path(folder), **how, place=place, replicas=options.replicas, meanwhile=server.restart)
    wrong = books.of_count(result)
    print(f"kills                {result.kills}")
    print(f"updates              {result.made}, of which handed out more than once {result.handed_again}")
    print(
        f"messages sent        {sum(map(len, result.received.values()))}, of which marked repetitions {result.repeated}"
    )
    print(f"reminders given up   {sum(row[2] == 'failed' for rows in result.outbox.values() for row in rows)}")
    print(f"longest silence      {result.longest_silence:.1f} s")
    print(f"seconds              {result.seconds:.0f}")
    print(f"faults               {len(wrong)}")
    for fault in wrong[:20]:
        print(f"  {fault}")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())

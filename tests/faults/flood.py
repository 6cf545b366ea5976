"""How long an owner waits for an answer while strangers write without end, beside the same without them.

    python -m tests.faults.flood

runs the program itself against the double of the service, and prints what it came to. Figures of one run can be
compared with each other alone.
"""

import argparse
import asyncio
import os
import signal
import sqlite3
import sys
import tempfile
import threading
import time
from concurrent.futures import ThreadPoolExecutor
from contextlib import closing
from pathlib import Path
from statistics import median

from tests.botapi import Background, BotApi, Limits
from tests.botapi.people import Person
from tests.kill.nursery import Nursery
from tests.kill.program import prepare

START_SECONDS = 60.0
COUNT = "SELECT count(*) FROM {}"


def waits(api: BotApi, owner: Person, times: int) -> list[float]:
    """Seconds from each of so many questions of an owner to its answer."""
    found = []
    for _ in range(times):
        before, began = len(owner.messages), time.monotonic()
        owner.writes("history")
        api.wait(lambda before=before: len(owner.messages) > before, START_SECONDS)  # type: ignore[misc]
        found.append(time.monotonic() - began)
        time.sleep(0.2)
    return found


def flood(api: BotApi, strangers: int, per_second: float, enough: threading.Event) -> int:
    """Write as so many strangers in turn until told to stop; returns how many messages it was."""
    crowd = [api.person(f"S{number}") for number in range(strangers)]
    written = 0
    while not enough.wait(1 / per_second):
        crowd[written % strangers].writes(f"hello {written}")
        written += 1
    return written


def main() -> int:
    parser = argparse.ArgumentParser(prog="python -m tests.faults.flood")
    parser.add_argument("--strangers", type=int, default=20)
    parser.add_argument("--per-second", type=float, default=60.0)
    parser.add_argument("--questions", type=int, default=25)
    parser.add_argument("--without-limits", action="store_true", help="as often as people want")
    options = parser.parse_args()
    each, strangers = ("600", "6000") if options.without_limits else ("30", "120")
    os.environ |= {"BRIMFUL_EACH": each, "BRIMFUL_STRANGERS": strangers}
    with tempfile.TemporaryDirectory() as folder, Background(BotApi(limits=Limits.none())) as api:
        path = Path(folder) / "brimful.db"
        owners = [api.person("Quiet"), api.person("Loud")]
        asyncio.run(prepare(path, [owner.id for owner in owners]))
        with Nursery(["serve", str(path), api.url, api.token], Path(folder) / "log") as nursery:
            service = nursery.start()
            waits(api, owners[0], 1)
            quiet = waits(api, owners[0], options.questions)
            enough = threading.Event()
            with ThreadPoolExecutor(1) as thread:
                writing = thread.submit(flood, api, options.strangers, options.per_second, enough)
                time.sleep(3.0)
                loud = waits(api, owners[1], options.questions)
                enough.set()
            nursery.end(service, signal.SIGTERM)
        with closing(sqlite3.connect(path)) as conn:
            rows = {table: conn.execute(COUNT.format(table)).fetchone()[0] for table in ("inbox", "outbox", "people")}
    print(f"an owner's answer, alone       median {1000 * median(quiet):.0f} ms, longest {1000 * max(quiet):.0f} ms")
    print(f"the same in the flood          median {1000 * median(loud):.0f} ms, longest {1000 * max(loud):.0f} ms")
    print(f"written by {options.strangers} strangers       {writing.result()}")
    print(f"rows                           {', '.join(f'{name} {count}' for name, count in rows.items())}")
    return 0


if __name__ == "__main__":
    sys.exit(main())

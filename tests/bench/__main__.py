"""Every measurement in one run: `python -m tests.bench` prints the machine, the versions and all tables.

`--small` takes a few minutes, the whole about half an hour on a quiet machine; `--only updates ticks` chooses.
"""

import argparse
import os
import platform
import subprocess
import sys
import time
from importlib.metadata import version
from pathlib import Path

ROOT = Path(__file__).parents[2]
PARTS = {
    "updates": ("answered a second, beside the bare echo bot", [], ["--chats", "100", "--messages", "300"]),
    "words": ("understanding a text, beside the parsing of its update", [], ["--texts", "300"]),
    "ticks": ("100 due among few and many", [], ["--counts", "1000", "100000"]),
    "rounds": (
        "reminders in bulk",
        [],
        ["--owners", "5000", "--people", "300", "--asking", "20"],
    ),
    "morning": ("a dealer's morning", [], ["--owners", "200", "2000"]),
    "intake": ("bringing owners in", [], ["--rows", "2000"]),
    "water": ("the water, beside PHREEQC", [], []),
    "store": ("an update in durable commits", [], ["--times", "300"]),
    "size": ("start-up, memory, growth", [], ["--owners", "100", "10000", "--messages", "100"]),
    "replicas": ("services on one PostgreSQL", [], ["--services", "1", "2", "--updates", "300"]),
}
LIBRARIES = ("python-telegram-bot", "apscheduler", "pydantic", "sqlite-utils", "psycopg", "numpy", "phreeqc")


def main() -> int:
    """Run the parts one after the other; the number of those that failed."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench")
    parser.add_argument("--only", nargs="+", choices=PARTS, default=list(PARTS))
    parser.add_argument("--small", action="store_true")
    options = parser.parse_args()
    load = ", ".join(f"{one:.1f}" for one in os.getloadavg())
    print(f"{time.strftime('%Y-%m-%d %H:%M')}  {platform.platform()}  {os.cpu_count()} cores  load {load}")
    print(f"Python {platform.python_version()}  " + "  ".join(f"{name} {version(name)}" for name in LIBRARIES))
    failed = 0
    for name in options.only:
        what, whole, small = PARTS[name]
        words = ["-m", f"tests.bench.{name}", *(small if options.small else whole)]
        print(f"\n## {what}: python {' '.join(words)}", flush=True)
        failed += subprocess.run([sys.executable, *words], cwd=ROOT, check=False).returncode != 0
    return failed


if __name__ == "__main__":
    sys.exit(main())

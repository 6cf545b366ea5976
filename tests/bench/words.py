"""What it costs to understand a text: `python -m tests.bench.words` prints the middle and the slowest of many.

Each text is one that owners write, of four languages, read for all that the bot looks for in it. Beside it what the
library for Telegram takes to parse the update that brings the same text, in the same run.
"""

import argparse
import random
import statistics
import time
from collections.abc import Callable
from datetime import UTC, datetime

from telegram import Update

from bot.talk.understand import (
    agree,
    command,
    courtesy,
    events,
    flags,
    language,
    questions,
    readings,
    requests,
    suspicion,
    symptoms,
)
from tests.talk.understand.train import labelled

NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
READERS: tuple[Callable[[str], object], ...] = (
    command, agree, courtesy, language, readings, flags, symptoms, requests, questions, suspicion,
)  # fmt: skip


def understand(text: str) -> None:
    """Look for everything that the bot looks for in a text out of the blue."""
    for read in READERS:
        read(text)
    events(text, NOON)


def parse(text: str) -> None:
    """Parse a plain update with that text."""
    who = {"id": 1, "first_name": "Ada", "is_bot": False, "language_code": "en"}
    chat = {"id": 1, "type": "private", "first_name": "Ada"}
    message = {"message_id": 1, "date": 1_800_000_000, "chat": chat, "from": who, "text": text}
    Update.de_json({"update_id": 1, "message": message}, None)


def seconds_of(act: Callable[[str], None], texts: list[str]) -> list[float]:
    """How long each text took, in order of length of time."""
    taken = []
    for text in texts:
        began = time.perf_counter()
        act(text)
        taken.append(time.perf_counter() - began)
    return sorted(taken)


def main() -> None:
    """Print both, and their ratio."""
    parser = argparse.ArgumentParser(prog="python -m tests.bench.words")
    parser.add_argument("--texts", type=int, default=2000)
    options = parser.parse_args()
    every = sorted({row.text for row in labelled()})
    texts = random.Random(1).sample(every, min(options.texts + 50, len(every)))
    for text in texts[:50]:
        understand(text)
    ours, theirs = seconds_of(understand, texts[50:]), seconds_of(parse, texts[50:])
    print(f"{len(ours)} texts             p50 ms   p95 ms")
    at = round(0.95 * len(ours)) - 1
    for name, taken in (("understood", ours), ("update parsed", theirs)):
        print(f"{name:20} {1e3 * statistics.median(taken):8.2f} {1e3 * taken[at]:8.2f}")
    middle, slowest = statistics.median(ours) / statistics.median(theirs), ours[at] / theirs[at]
    print(f"{'times the parsing':20} {middle:8.0f} {slowest:8.0f}")


if __name__ == "__main__":
    main()

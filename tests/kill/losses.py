"""What is lost and doubled by the library's polling loop and by the product's engine, killed alike under like load."""

import asyncio
import random
import signal
import sys
import tempfile
from collections import Counter
from dataclasses import dataclass
from pathlib import Path

from tests.botapi import Background, BotApi, Limits
from tests.kill import ordeal
from tests.kill.nursery import Nursery
from tests.kill.program import prepare

PAUSE_SECONDS = 0.04
"""Between two messages of the crowd: slow enough for either program to keep up with while it lives."""
LONGEST_LIFE_SECONDS = 2.0
"""From a program's first poll until it is killed, at most."""
NEVER = 1_000_000
"""The crowd does not wait for answers: those to lost messages never come."""


@dataclass(frozen=True)
class Losses:
    """Of so many messages, those that were never answered, and those answered again as if for the first time."""

    made: int
    lost: int
    doubled: int


def compare(folder: Path, *, kills: int, seed: int, people: int = 8) -> tuple[Losses, Losses]:
    """The losses of the loop and of the engine, each killed so many times."""
    with Nursery([], folder / "log") as nursery:
        loop, engine = (_losses(nursery, program, folder, kills, seed, people) for program in ("echo", "count"))
    return loop, engine


def _losses(nursery: Nursery, program: str, folder: Path, kills: int, seed: int, people: int) -> Losses:
    chance, path = random.Random(seed), folder / f"{program}.db"
    with Background(BotApi(limits=Limits.none())) as api:
        crowd = [api.person(f"P{number}") for number in range(people)]
        asyncio.run(prepare(path, [person.id for person in crowd]))
        load = ordeal.Crowd(api, crowd, str, chance, NEVER, PAUSE_SECONDS)
        nursery.arguments = [program, str(path), api.url, api.token]
        with load.writing():
            for _ in range(kills):
                ordeal.kill_at_work(nursery, api, chance, LONGEST_LIFE_SECONDS)
        process = nursery.start()
        ordeal.wait_until_done(path, api)
        nursery.end(process, signal.SIGTERM)
    lost = doubled = 0
    for chat, written in load.written.items():
        received = api.ledger.texts_to(chat)
        unmarked = Counter(text.split()[1] for text in received if text.startswith("answer"))
        answered = {text.split()[1] for text in ordeal.first_times(received)}
        lost += len(set(written) - answered)
        doubled += sum(times > 1 for times in unmarked.values())
    return Losses(sum(map(len, load.written.values())), lost, doubled)


def main() -> None:
    """Print the losses of both: `python -m tests.kill.losses KILLS SEED`."""
    kills, seed = (int(argument) for argument in sys.argv[1:3])
    with tempfile.TemporaryDirectory() as folder:
        both = compare(Path(folder), kills=kills, seed=seed)
    for name, losses in zip(("polling loop", "engine"), both, strict=True):
        print(f"{name:12} {kills} kills, {losses.made} messages: {losses.lost} lost, {losses.doubled} doubled")


if __name__ == "__main__":
    main()

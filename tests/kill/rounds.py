"""The program is killed again and again while it sends a round; then what arrived is compared with what is written."""

import asyncio
import random
import signal
import sqlite3
import time
from collections import Counter
from contextlib import closing
from dataclasses import dataclass, field
from pathlib import Path

from bot.model.round import Chosen, Round
from bot.run.clock import WallClock
from bot.store.sqlite import SqliteStore
from tests.botapi import Background, BotApi, Limits
from tests.kill.nursery import Nursery
from tests.kill.program import DEALER, prepare

TEXT = "Please switch the heater off"
START_SECONDS = 30.0
END_SECONDS = 120.0


@dataclass
class Outcome:
    """How often the round arrived in each chat, and the state that is written down for it."""

    arrived: dict[int, int] = field(default_factory=dict)
    states: dict[int, str] = field(default_factory=dict)
    state: str = ""
    kills: int = 0
    log: str = ""

    @property
    def counts(self) -> Counter[str]:
        """Owners by state."""
        return Counter(self.states.values())

    def faults(self) -> list[str]:
        """What is wrong, in words."""
        wrong = [f"{chat} got it {times} times" for chat, times in self.arrived.items() if times > 1]
        for chat, state in self.states.items():
            if state == "delivered" and self.arrived[chat] != 1:
                wrong.append(f"{chat} is said to have got it and did not")
            elif state not in ("delivered", "unclear"):
                wrong.append(f"{chat} is {state}")
        if set(self.states) != set(self.arrived):
            wrong.append("somebody is missing from the round")
        if self.state != "done":
            wrong.append(f"the round is {self.state}")
        return wrong


async def _begin(path: Path) -> None:
    """Write a recall to everybody (it minds no quiet hours) and start it."""
    store = SqliteStore(path)
    await store.open()
    now = WallClock().now()
    await store.put_round(Round(key="r", dealer=DEALER.key, by=None, kind="recall", texts={"en": TEXT}, made_at=now))
    while not await store.choose_round(DEALER.key, "r", now, 500, lambda _: Chosen()):
        pass
    await store.order_round(DEALER.key, "r", "start", now)
    await store.close()


def endure_round(folder: Path, *, kills: int, seed: int, people: int, program: str = "count") -> Outcome:
    """Kill the program so many times while it sends, let it finish in peace, and gather what there is."""
    chance = random.Random(seed)
    path, log = folder / "brimful.db", folder / "log"
    outcome = Outcome(kills=kills)
    with Background(BotApi(limits=Limits.none())) as api:
        crowd = [api.person(f"P{number}") for number in range(people)]
        for person in crowd:
            person.starts()
        api.updates.drop_pending()
        asyncio.run(prepare(path, [person.id for person in crowd]))
        asyncio.run(_begin(path))
        with Nursery([program, str(path), api.url, api.token], log) as nursery:
            for _ in range(kills):
                process, sent = nursery.start(), len(api.ledger.sent)
                api.wait(lambda sent=sent: len(api.ledger.sent) > sent or _is_over(path), START_SECONDS)
                time.sleep(chance.uniform(0.0, 0.15))
                nursery.end(process, signal.SIGKILL)
            process = nursery.start()
            try:
                _wait_until_over(path)
            finally:
                nursery.end(process, signal.SIGTERM)
        outcome.arrived = {person.id: sum(TEXT in text for text in api.ledger.texts_to(person.id)) for person in crowd}
    with closing(sqlite3.connect(path)) as conn:
        rows = conn.execute("SELECT person, state FROM round_rows").fetchall()
        outcome.states = {int(person.removeprefix("p")): state for person, state in rows}
        (outcome.state,) = conn.execute("SELECT state FROM rounds").fetchone()
    outcome.log = log.read_text()
    return outcome


def _is_over(path: Path) -> bool:
    with closing(sqlite3.connect(path, timeout=10)) as conn:
        return bool(conn.execute("SELECT reported FROM rounds").fetchone()[0])


def _wait_until_over(path: Path) -> None:
    deadline = time.monotonic() + END_SECONDS
    while not _is_over(path):
        if time.monotonic() > deadline:
            raise AssertionError("the round does not end")
        time.sleep(0.05)

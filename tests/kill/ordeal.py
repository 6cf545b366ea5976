"""People write while the program is killed and started again and again; then the books are compared."""

import asyncio
import os
import random
import signal
import sqlite3
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, closing, contextmanager
from dataclasses import dataclass, field
from pathlib import Path

from bot.run.verdict import REPEATED
from tests.botapi import Background, BotApi, Limits
from tests.botapi.people import Person
from tests.kill.nursery import Nursery
from tests.kill.program import prepare

START_SECONDS = 30.0
END_SECONDS = 90.0
PAUSE_SECONDS = 0.012
"""Between two messages of the crowd."""
PATIENCE = 150
"""How many messages may be unanswered before the crowd waits."""


@dataclass
class Result:
    """What the double saw, and what the database holds, at the end."""

    kills: int = 0
    made: int = 0
    handed_again: int = 0
    written: dict[int, list[str]] = field(default_factory=dict)
    """Texts by the chat they were written in, oldest first."""
    received: dict[int, list[str]] = field(default_factory=dict)
    """Texts by the chat they were sent to, oldest first, with every repetition."""
    inbox: Counter[str] = field(default_factory=Counter)
    """Arrivals by state."""
    updates: set[int] = field(default_factory=set)
    outbox: dict[int, list[tuple[str, str, str]]] = field(default_factory=dict)
    """(lane, text, state) by chat, oldest first."""
    journal: dict[int, list[str]] = field(default_factory=dict)
    """Kinds and texts by chat, oldest first."""
    sound: bool = False
    seconds: float = 0.0
    log: str = ""

    @property
    def repeated(self) -> int:
        """Messages that were marked as a repetition."""
        return sum(text.startswith(REPEATED) for texts in self.received.values() for text in texts)


class Crowd:
    """People who write in turn on a thread of their own, until told to stop."""

    def __init__(
        self, api: BotApi, people: list[Person], says: Callable[[int], str], chance: random.Random, patience: int
    ) -> None:
        self._api, self._people, self._says, self._chance = api, people, says, chance
        self._patience = patience
        self.written: dict[int, list[str]] = {person.id: [] for person in people}
        self._enough = threading.Event()
        self._thread = threading.Thread(target=self._write, daemon=True)

    @contextmanager
    def writing(self) -> Iterator[None]:
        self._thread.start()
        yield
        self._enough.set()
        self._thread.join()

    def _write(self) -> None:
        while not self._enough.wait(PAUSE_SECONDS):
            if self._unanswered() > self._patience:
                continue
            person = self._chance.choice(self._people)
            texts = self.written[person.id]
            texts.append(self._says(len(texts)))
            person.writes(texts[-1])

    def _unanswered(self) -> int:
        return len(self._api.ledger.made) - len(self._api.ledger.sent)


def endure(
    folder: Path,
    *,
    kills: int,
    seed: int,
    program: str = "count",
    people: int = 8,
    says: Callable[[int], str] = str,
    patience: int = PATIENCE,
) -> Result:
    """Kill the program so many times under load, let it finish in peace, and gather what there is."""
    chance = random.Random(seed)
    path, log = folder / "brimful.db", folder / "log"
    began = time.monotonic()
    with Background(BotApi(limits=Limits.none())) as api, ExitStack() as rooms:
        crowd = [api.person(f"P{number}") for number in range(people)]
        asyncio.run(prepare(path, [person.id for person in crowd]))
        load = Crowd(api, crowd, says, chance, patience)
        arguments = [program, str(path), api.url, api.token]
        nursery = rooms.enter_context(Nursery(arguments, log))
        with load.writing():
            for _ in range(kills):
                process = nursery.start()
                polls = api.updates.poll
                # from its first poll on, so that most die at work; sometimes right at the start
                if chance.random() < 0.9:
                    api.wait(lambda polls=polls: api.updates.poll > polls, START_SECONDS)
                time.sleep(chance.uniform(0.0, 0.4))
                nursery.end(process, signal.SIGKILL)
        process = nursery.start()
        try:
            wait_until_done(path, api)
        finally:
            code = nursery.end(process, signal.SIGTERM)
        if code != 0:
            raise AssertionError(f"the program ended with {code}:\n{log.read_text()[-3000:]}")
        result = gather(path, api, load)
    result.kills, result.seconds, result.log = kills, time.monotonic() - began, log.read_text()
    return result


def wait_until_done(path: Path, api: BotApi) -> None:
    """Until the double has nothing left to hand out and the database nothing left to do."""
    deadline = time.monotonic() + END_SECONDS
    soon = (time.time() + 3600) * 1000
    api.wait(lambda: not api.ledger.unconfirmed(), END_SECONDS)
    with closing(sqlite3.connect(path, timeout=10)) as conn:
        while time.monotonic() < deadline:
            (left,) = conn.execute(
                "SELECT (SELECT count(*) FROM inbox WHERE state = 'waiting') "
                "+ (SELECT count(*) FROM outbox WHERE state = 'waiting') "
                "+ (SELECT count(*) FROM dues WHERE at < ?)",
                (soon,),
            ).fetchone()
            if not left:
                return
            time.sleep(0.05)
    raise AssertionError(f"{left} rows still wait")


def gather(path: Path, api: BotApi, load: Crowd) -> Result:
    result = Result(made=len(api.ledger.made), handed_again=len(api.ledger.handed_more_than_once()))
    result.written = load.written
    result.received = {chat: api.ledger.texts_to(chat) for chat in load.written}
    with closing(sqlite3.connect(path)) as conn:
        result.sound = conn.execute("PRAGMA integrity_check").fetchone() == ("ok",)
        result.inbox = Counter(state for (state,) in conn.execute("SELECT state FROM inbox"))
        result.updates = {
            int(update) for (update,) in conn.execute("SELECT update_id FROM inbox WHERE update_id NOT LIKE 'due:%'")
        }
        lanes = ("reply", "alert", "reminder", "bulk")
        for chat in load.written:
            result.outbox[chat] = [
                (lanes[lane], text, state)
                for lane, text, state in conn.execute(
                    "SELECT lane, json_extract(body, '$.text'), state FROM outbox WHERE chat = ? ORDER BY number",
                    (str(chat),),
                )
            ]
            result.journal[chat] = [
                f"{kind} {text or ''}".strip()
                for kind, text in conn.execute(
                    "SELECT kind, json_extract(body, '$.text') FROM journal WHERE person = ? ORDER BY number",
                    (f"p{chat}",),
                )
            ]
    return result


def first_times(texts: list[str]) -> list[str]:
    """Texts without their marks, each where it came first."""
    return list(dict.fromkeys(text.removeprefix(REPEATED) for text in texts))


def kills_wanted(otherwise: int) -> int:
    """How often to kill: BRIMFUL_KILLS, or the small number that the suite runs with."""
    return int(os.environ.get("BRIMFUL_KILLS", otherwise))

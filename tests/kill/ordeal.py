"""People write while the program is killed and started again and again; then the books are compared."""

import asyncio
import json
import os
import random
import signal
import threading
import time
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import ExitStack, contextmanager
from dataclasses import dataclass, field
from itertools import pairwise
from pathlib import Path

from bot.run.verdict import REPEATED
from tests.botapi import Background, BotApi, Limits
from tests.botapi.people import Person
from tests.kill.nursery import Nursery
from tests.kill.program import prepare
from tests.kill.shelf import Place, is_sound, rows

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
    longest_silence: float = 0.0
    """Seconds between two messages that the double delivered."""
    seconds: float = 0.0
    log: str = ""

    @property
    def repeated(self) -> int:
        """Messages that were marked as a repetition."""
        return sum(text.startswith(REPEATED) for texts in self.received.values() for text in texts)


class Crowd:
    """People who write in turn on a thread of their own, until told to stop."""

    def __init__(
        self,
        api: BotApi,
        people: list[Person],
        says: Callable[[int], str],
        chance: random.Random,
        patience: int,
        pause: float = PAUSE_SECONDS,
    ) -> None:
        self._api, self._people, self._says, self._chance = api, people, says, chance
        self._patience, self._pause = patience, pause
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
        while not self._enough.wait(self._pause):
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
    place: Place | None = None,
    replicas: int = 1,
    meanwhile: Callable[[], None] | None = None,
) -> Result:
    """Kill the program so many times under load, let it finish in peace, and gather what there is.

    `place` is the database where it is not a file in `folder`; so many `replicas` run at once, of which one is killed
    and another started; `meanwhile` happens once, halfway.
    """
    chance = random.Random(seed)
    path, log = place or folder / "brimful.db", folder / "log"
    began = time.monotonic()
    with Background(BotApi(limits=Limits.none())) as api, ExitStack() as rooms:
        crowd = [api.person(f"P{number}") for number in range(people)]
        asyncio.run(prepare(path, [person.id for person in crowd]))
        load = Crowd(api, crowd, says, chance, patience)
        arguments = [program, str(path), api.url, api.token]
        nursery = rooms.enter_context(Nursery(arguments, log))
        with load.writing():
            if replicas == 1:
                for _ in range(kills):
                    kill_at_work(nursery, api, chance)
            else:
                kill_among(nursery, replicas, kills, chance, meanwhile)
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


def kill_at_work(nursery: Nursery, api: BotApi, chance: random.Random, longest: float = 0.4) -> None:
    """Start the program and kill it at work, within so many seconds of its first poll; sometimes right at the start."""
    process = nursery.start()
    polls = api.updates.poll
    if chance.random() < 0.9:
        api.wait(lambda: api.updates.poll > polls, START_SECONDS)
    time.sleep(chance.uniform(0.0, longest))
    nursery.end(process, signal.SIGKILL)


def kill_among(
    nursery: Nursery, replicas: int, kills: int, chance: random.Random, meanwhile: Callable[[], None] | None
) -> None:
    """Keep so many running; kill any one of them every few seconds, and start another."""
    running = [nursery.start() for _ in range(replicas)]
    for kill in range(kills):
        time.sleep(chance.uniform(1.0, 4.0))
        nursery.end(running.pop(chance.randrange(replicas)), signal.SIGKILL)
        running.append(nursery.start())
        if meanwhile is not None and kill == kills // 2:
            meanwhile()
    for process in running:
        nursery.end(process, signal.SIGTERM)


def wait_until_done(place: Place, api: BotApi) -> None:
    """Until the double has nothing left to hand out and the database nothing left to do."""
    deadline = time.monotonic() + END_SECONDS
    soon = (time.time() + 3600) * 1000
    api.wait(lambda: not api.ledger.unconfirmed(), END_SECONDS)
    while time.monotonic() < deadline:
        ((left,),) = rows(
            place,
            "SELECT (SELECT count(*) FROM inbox WHERE state = 'waiting') "
            "+ (SELECT count(*) FROM outbox WHERE state = 'waiting') "
            f"+ (SELECT count(*) FROM dues WHERE at < {soon:.0f})",
        )
        if not left:
            return
        time.sleep(0.05)
    raise AssertionError(f"{left} rows still wait")


def gather(place: Place, api: BotApi, load: Crowd) -> Result:
    result = Result(made=len(api.ledger.made), handed_again=len(api.ledger.handed_more_than_once()))
    result.written = load.written
    result.received = {chat: api.ledger.texts_to(chat) for chat in load.written}
    result.sound = is_sound(place)
    result.inbox = Counter(state for (state,) in rows(place, "SELECT state FROM inbox"))
    from_people = rows(place, "SELECT update_id FROM inbox WHERE update_id NOT LIKE 'due:%'")
    result.updates = {int(update) for (update,) in from_people}
    lanes = ("reply", "alert", "reminder", "bulk")
    for chat in load.written:
        posted = rows(place, f"SELECT lane, body, state FROM outbox WHERE chat = '{chat}' ORDER BY number")
        result.outbox[chat] = [(lanes[lane], text_in(body), state) for lane, body, state in posted]
        told = rows(place, f"SELECT kind, body FROM journal WHERE person = 'p{chat}' ORDER BY number")
        result.journal[chat] = [f"{kind} {text_in(body)}".strip() for kind, body in told]
    times = sorted(sent.at for sent in api.ledger.sent)
    result.longest_silence = max((later - earlier for earlier, later in pairwise(times)), default=0.0)
    return result


def text_in(body: str) -> str:
    return json.loads(body).get("text") or ""


def first_times(texts: list[str]) -> list[str]:
    """Texts without their marks, each where it came first."""
    return list(dict.fromkeys(text.removeprefix(REPEATED) for text in texts))


def kills_wanted(otherwise: int) -> int:
    """How often to kill: BRIMFUL_KILLS, or the small number that the suite runs with."""
    return int(os.environ.get("BRIMFUL_KILLS", otherwise))

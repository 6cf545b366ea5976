"""What comes from around the house: odd updates, zones and their rules, more waiting than can be worked off."""

import asyncio
import os
import subprocess
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import get_args

import pytest
from pydantic import ValidationError

from bot.model.dealer import Dealer
from bot.model.event import Arrival, FileKind
from bot.model.fact import Added
from bot.model.known import Known, Outcome
from bot.run.clock import VirtualClock
from bot.run.engine import Engine
from bot.store.sqlite import SqliteStore
from tests.faults.named import ROOT
from tests.run.scenes import a_store
from tests.store.samples import NOON, wrote
from tests.talk.crew import tells_of_bad_water
from tests.talk.world import World

SCRIPT = """at 2027-03-27T10:00 Europe/Paris
cast owner Ada volume=1300L sanitizer=chlorine zone=Australia/Lord_Howe
Ada: history
wait 2d
"""


@pytest.mark.parametrize("what", get_args(FileKind))
def test_whatever_is_sent_where_a_number_is_due_the_question_stays(what: FileKind) -> None:
    with World() as world:
        ada = world.owner("Ada").says("test").taps("Nobody")
        asked = ada.last.asks
        ada.sends(what)
        assert ada.last.asks == asked == "fc"
        assert world.facts("reading") == []


def test_one_press_under_two_numbers_counts_once() -> None:
    with World() as world:
        ada = world.owner("Ada")
        tells_of_bad_water(ada)
        press = ada.button("Done").data
        ada.taps_data(press).taps_data(press)
        assert len([fact for fact in world.facts("addition") if isinstance(fact, Added)]) == 1


@pytest.mark.parametrize("offset", ["+02:00", "UTC+2", "GMT+2", "CEST", ""])
def test_an_offset_is_no_zone_and_a_time_without_one_is_no_moment(offset: str) -> None:
    with pytest.raises(ValidationError, match="Europe/Paris"):
        Dealer(key="north", name="North", zone=offset)
    with pytest.raises(ValidationError, match="timezone"):
        Arrival.model_validate({**wrote("1").model_dump(), "at": datetime(2027, 3, 1, 9)})  # noqa: DTZ001 - that it is refused


def test_zones_are_known_on_a_machine_that_has_none() -> None:
    bare = {**os.environ, "PYTHONTZPATH": ""}
    command = [sys.executable, "-m", "bot", "rehearse", "-"]
    run = subprocess.run(command, input=SCRIPT, env=bare, cwd=ROOT, capture_output=True, text=True, check=False)
    assert (run.returncode, run.stderr) == (0, "")
    assert "to Ada:" in run.stdout


def test_a_reminder_that_was_planned_by_older_rules_of_a_zone_comes_at_the_right_hour() -> None:
    with World(datetime(2027, 3, 1, 9, tzinfo=UTC)) as world:
        ada = world.owner("Ada", person={"zone": "Europe/Paris"}).says("cl 4 ph 7.4 ta 80 ch 150")
        right = {due.key: due.at for due in ada.known.dues if due.kind == "reminder"}
        first = min(right.values())
        world.do(world.store.close())
        world._open()
        file = world.store._file  # type: ignore[union-attr]
        file.db.conn.execute("UPDATE dues SET at = at - 3600000 WHERE kind = 'reminder'")
        before = len(ada.messages)
        world.passes(seconds=(first - world.clock.now()).total_seconds() - 1)
        assert len(ada.messages) == before
        assert {due.key: due.at for due in ada.known.dues if due.at == first}
        world.passes(seconds=2)
        assert ada.messages[before].lane == "reminder"


async def test_what_waits_makes_no_tasks(tmp_path: Path) -> None:
    async with a_store(tmp_path) as store:
        assert await most_tasks(store, workers=4) <= 2 * 4


async def most_tasks(store: SqliteStore, *, workers: int) -> int:
    """How many tasks there are at most beside the test's own and the engine's while it works off what waits."""
    for number in range(300):
        await store.receive(wrote(str(number), at=str(number % 60)))
    most, stop = 0, asyncio.Event()

    def step(known: Known, arrival: Arrival, now: datetime) -> Outcome:
        nonlocal most
        most = max(most, len(asyncio.all_tasks()))
        if arrival.update == "299":
            stop.set()
        return Outcome()

    there = len(asyncio.all_tasks())
    engine = Engine(store, step, lambda _: Outcome(), workers=workers)
    running = asyncio.create_task(engine.run_forever(VirtualClock(NOON + timedelta(hours=1)), stop))
    await stop.wait()
    engine.bell.ring()
    await running
    assert most > there
    return most - there - 1

"""The figures on the door, counted from a house that really ran."""

import sqlite3
from pathlib import Path

import httpx
from prometheus_client.parser import text_string_to_metric_families

from bot.model.fact import CaseOpened
from bot.model.message import Refusal
from bot.run.clock import VirtualClock
from bot.run.crowd import Crowd
from bot.run.door import Door
from bot.run.figures import Figures, measured
from bot.run.house import House
from bot.store.contract import StoreBroken
from bot.store.sqlite import SqliteStore
from tests.run.scenes import Line, answers, echo, sorry
from tests.run.test_post import NO_LIMIT
from tests.store.samples import CHANNEL, NOON, entry, later, wrote


def values(text: str) -> dict[str, float]:
    """Every sample by its name and labels."""
    return {
        " ".join([sample.name, *(value for _, value in sorted(sample.labels.items()))]): sample.value
        for family in text_string_to_metric_families(text)
        for sample in family.samples
    }


async def test_what_a_house_did_is_counted_and_shown_at_the_door(store: SqliteStore):
    figures = Figures()
    line = Line(answers(Refusal(kind="failed", why="busy")))
    home = House(measured(store, figures), {CHANNEL: line}, echo, sorry, paces=NO_LIMIT)
    clock = VirtualClock(NOON)
    for number in (1, 1, 2):
        await home.engine.receive(wrote(str(number), "in 3h rinse", at=str(number)))
    await store.write([entry("c", CaseOpened(case="c", klass="question", reasons=("asked",)))])
    await home.settle_down(NOON)
    await home.pass_time(clock, later(hours=1))
    door = Door(store, {}, figures=lambda: figures.text(store, later(hours=4)))
    port = await door.open("127.0.0.1", 0)
    async with httpx.AsyncClient() as client:
        answer = await client.get(f"http://127.0.0.1:{port}/metrics")
        outside = await client.get(f"http://127.0.0.1:{port}/metrics", headers={"X-Forwarded-For": "192.0.2.7"})
    await door.close()
    shown = values(answer.text)
    assert shown["brimful_updates_total telegram"] == 2
    assert shown["brimful_handled_total handled"] == 2
    assert shown["brimful_answer_seconds_count"] == 2
    assert shown["brimful_sends_total reply"] == 2
    assert shown["brimful_refusals_total false unknown"] == 1
    assert shown["brimful_outbox reply"] == 0
    assert shown["brimful_due"] == shown["brimful_overdue"] > 0
    assert shown["brimful_cases"] == 1
    assert shown["brimful_store_seconds_count settle"] == 2
    assert outside.status_code == 404
    assert "rinse" not in answer.text
    assert "Ada" not in answer.text


async def test_who_writes_without_end_shows_in_what_was_postponed(store: SqliteStore):
    figures, crowd = Figures(), Crowd(each=10)
    home = House(measured(store, figures), {CHANNEL: Line()}, echo, sorry, paces=NO_LIMIT, crowd=crowd)
    for number in range(12):
        await home.engine.receive(wrote(str(number)))
    await home.settle_down(NOON)
    shown = values(await figures.text(store, NOON))
    assert (shown["brimful_handled_total handled"], shown["brimful_handled_total postponed"]) == (10, 1)
    assert shown["brimful_inbox"] == 2


async def test_how_late_what_fell_due_was_handled_is_told_apart_from_answers(store: SqliteStore):
    figures = Figures()
    home = House(measured(store, figures), {CHANNEL: Line()}, echo, sorry, paces=NO_LIMIT)
    await home.engine.receive(wrote("1", "in 3h rinse"))
    await home.settle_down(NOON)
    await home.settle_down(later(hours=5))
    shown = values(await figures.text(store, later(hours=5)))
    assert shown["brimful_late_seconds_count"] == 1
    assert shown["brimful_late_seconds_sum"] == 7200
    assert shown["brimful_answer_seconds_count"] == 1
    assert shown["brimful_overdue"] == 0


async def test_a_store_that_does_not_work_is_counted_and_the_figures_still_come(store: SqliteStore, tmp_path: Path):
    figures = Figures()
    counted = measured(store, figures)
    held = sqlite3.connect(tmp_path / "brimful.db", isolation_level=None)
    held.execute("BEGIN IMMEDIATE")
    try:
        await counted.receive(wrote("1"))
    except StoreBroken:
        pass
    finally:
        held.execute("ROLLBACK")
        held.close()
    await store.close()
    shown = values(await figures.text(store, NOON))
    assert shown["brimful_store_broken_total receive"] == 1
    assert "brimful_updates_total telegram" not in shown

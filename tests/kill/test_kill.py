"""Killed at any instant under load, nothing is lost, nothing is done twice, and the order is kept.

BRIMFUL_KILLS=200 makes it long; `python -m tests.kill` runs as many as it is told and prints a table, with
`--replicas 3` on a PostgreSQL that is restarted once. `python -m tests.kill.losses 50 1` compares with a plain loop.
"""

from pathlib import Path

import pytest

from tests.kill import books
from tests.kill.losses import compare
from tests.kill.ordeal import endure, kills_wanted
from tests.kill.rounds import endure_round
from tests.store.server import Rooms, running_server

READINGS = ("ph 7.4 ta 90 fc 3", "hello", "what is open now?", "fc 4", "thanks", "/tub")


def readings(place: int) -> str:
    return READINGS[place % len(READINGS)]


@pytest.mark.timeout(3600)
def test_every_message_is_answered_once_and_in_order(tmp_path: Path):
    result = endure(tmp_path, kills=kills_wanted(8), seed=20270301)
    assert books.of_count(result) == [], result.log[-2000:]
    assert result.made > 100


@pytest.mark.timeout(3600)
def test_the_product_as_its_users_run_it_keeps_its_books(tmp_path: Path):
    result = endure(tmp_path, kills=kills_wanted(3), seed=7, program="serve", says=readings, people=30, patience=25)
    assert books.of_any(result) == [], result.log[-2000:]
    assert all(len(result.outbox[chat]) >= len(written) for chat, written in result.written.items())


@pytest.mark.timeout(3600)
def test_nobody_gets_a_round_twice_and_nobody_is_forgotten(tmp_path: Path):
    outcome = endure_round(tmp_path, kills=kills_wanted(5), seed=20270301, people=200)
    assert outcome.faults() == [], outcome.log[-2000:]
    assert outcome.counts["unclear"] <= 16 * outcome.kills


@pytest.mark.timeout(3600)
def test_three_services_of_which_one_dies_now_and_then_and_a_server_that_restarts_lose_and_double_nothing(
    tmp_path: Path,
):
    with running_server() as server:
        place = Rooms(server.dsn).dsn
        result = endure(tmp_path, kills=kills_wanted(2), seed=11, place=place, replicas=3, meanwhile=server.restart)
    assert books.of_count(result) == [], result.log[-2000:]
    assert result.made > 50


@pytest.mark.timeout(3600)
def test_beside_a_plain_polling_loop_the_engine_loses_and_doubles_nothing(tmp_path: Path):
    loop, engine = compare(tmp_path, kills=kills_wanted(3), seed=20270301)
    assert (engine.lost, engine.doubled) == (0, 0)
    assert min(loop.made, engine.made) > 20
    assert loop.lost < loop.made, "the loop has to have run at all, or there is nothing to compare with"

"""Guards against a cost that grows with what is stored. Ratios within one run, with room for a busy machine."""

from pathlib import Path

from tests.bench.intake import as_csv, seconds_of
from tests.bench.ticks import tick_seconds


async def test_a_tick_costs_what_is_due_and_not_what_is_stored():
    few, _ = await tick_seconds(1_000)
    many, _ = await tick_seconds(100_000)
    assert many < 5 * few


async def test_a_tick_that_finds_nothing_is_far_cheaper_than_one_that_finds_a_hundred():
    busy, idle = await tick_seconds(20_000)
    assert idle < busy / 5


async def test_a_long_list_costs_no_more_a_row_than_a_short_one(tmp_path: Path):
    for folder in ("short", "long"):
        (tmp_path / folder).mkdir()
    short = await seconds_of(as_csv(300), tmp_path / "short")
    long = await seconds_of(as_csv(1500), tmp_path / "long")
    assert long["bring in, all of it"] < 5 * 3 * short["bring in, all of it"]

"""`brimful needs`: packs in words, names as a table; what is wrong is said in one line."""

import asyncio
from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest

from bot.cli import main
from bot.model.fact import Added, Entry
from bot.model.person import Person
from bot.model.tub import Tub
from bot.store.sqlite import SqliteStore

FILE = """
key = "house"
name = "Tidewell Tubs"
[[product]]
key = "sanitizer_plus"
substances = { sodium_dichlor = 0.99 }
density = 0.95
pack_g = 500
"""


@pytest.fixture
def house(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    file, database = tmp_path / "dealer.toml", tmp_path / "b.db"
    file.write_text(FILE, encoding="utf-8")
    monkeypatch.setenv("BRIMFUL_DEALER", str(file))
    monkeypatch.setenv("BRIMFUL_DATABASE", str(database))
    assert main(["needs"]) == 0
    asyncio.run(_fill(database))
    return tmp_path


async def _fill(database: Path) -> None:
    store = SqliteStore(database)
    await store.open()
    ada, tub = Person(key="ada", dealer="house", name="=Ada"), Tub(key="t", dealer="house")
    await store.put("house", [ada], [tub], [("ada", "t")])
    now = datetime.now(UTC)
    added = Added(product="sanitizer_plus", grams=50, substances={"sodium_dichlor": 50})
    await store.write(
        [
            Entry(key=f"e{n}", dealer="house", tub="t", person="ada", at=now - timedelta(weeks=n), via="x", fact=added)
            for n in range(8)
        ]
    )
    await store.close()


def test_the_list_is_printed_and_written(house: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["needs", "--csv", str(house / "needs.csv")]) == 0
    assert "sanitizer plus: 1 owner, packs for four weeks: 1." in capsys.readouterr().out
    assert "'=Ada" in (house / "needs.csv").read_text("utf-8-sig")
    assert main(["needs", "--weeks", "1"]) == 0
    assert "Nobody will run out within 1 week" in capsys.readouterr().out


def test_without_pack_sizes_it_says_what_to_write(
    house: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    plain = house / "plain.toml"
    plain.write_text(FILE.replace("pack_g = 500", ""), encoding="utf-8")
    monkeypatch.setenv("BRIMFUL_DEALER", str(plain))
    assert main(["needs"]) == 0
    assert "write `pack_g`" in capsys.readouterr().out


@pytest.mark.parametrize("weeks", ["0", "27", "x", "-1", "²"])
def test_a_bad_number_of_weeks_is_refused(house: Path, weeks: str, capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["needs", "--weeks", weeks])
    assert "write one from 1 to 26" in capsys.readouterr().err or weeks == "-1"

"""`brimful person`: what is stored on one person is found, handed over and erased from the command line."""

import asyncio
import json
from pathlib import Path

import pytest

from bot.command.dealer import DEMO
from bot.command.person import main
from bot.model.person import Person
from bot.model.tub import Tub
from bot.store.sqlite import SqliteStore


async def settled_in(path: Path) -> None:
    store = SqliteStore(path)
    await store.open()
    await store.put_dealer(DEMO)
    ada = Person(key="p1", dealer=DEMO.key, name="Ada Quince")
    await store.put(DEMO.key, [ada], [Tub(key="t1", dealer=DEMO.key, volume=1300)], [("p1", "t1")])
    await store.close()


def test_a_person_is_found_handed_over_and_erased(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    path = tmp_path / "b.sqlite3"
    asyncio.run(settled_in(path))
    monkeypatch.setenv("BRIMFUL_DATABASE", str(path))
    assert main(["find", "quince"]) == 0
    assert capsys.readouterr().out.split()[:3] == ["p1", "Ada", "Quince"]
    assert main(["export", "p1"]) == 0
    assert json.loads(capsys.readouterr().out)["people"][0]["body"]["name"] == "Ada Quince"
    assert main(["erase", "p1"]) == 2
    assert "--yes" in capsys.readouterr().err
    assert main(["erase", "p1", "--yes"]) == 0
    capsys.readouterr()
    assert main(["export", "p1"]) == 0
    assert "Quince" not in capsys.readouterr().out
    assert main(["export", "nobody"]) == 2
    assert "nobody here has that key" in capsys.readouterr().err

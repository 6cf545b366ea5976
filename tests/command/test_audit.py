"""`brimful audit`: who did what since a day; what the command line does is in it too."""

import asyncio
from pathlib import Path

import pytest

from bot.cli import main
from bot.command.dealer import DEMO
from bot.model.person import Person
from bot.model.tub import Tub
from bot.store.sqlite import SqliteStore


@pytest.fixture(autouse=True)
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "b.db"
    monkeypatch.setenv("BRIMFUL_DATABASE", str(path))
    monkeypatch.delenv("BRIMFUL_DEALER", raising=False)

    async def fill() -> None:
        store = SqliteStore(path)
        await store.open()
        await store.put_dealer(DEMO)
        ada, tub = Person(key="ada", dealer=DEMO.key, name="Ada"), Tub(key="t", dealer=DEMO.key, serial="S1")
        await store.put(DEMO.key, [ada], [tub], [("ada", "t")])
        await store.close()

    asyncio.run(fill())
    return path


def test_the_command_line_leaves_its_trail(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["audit"]) == 0
    assert "Nothing was done" in capsys.readouterr().out
    assert main(["invite", "--name", "Tom", "--role", "technician"]) == 0
    assert main(["tub", "hand", "S1"]) == 0
    assert main(["person", "export", "ada"]) == 0
    assert main(["person", "erase", "ada", "--yes"]) == 0
    capsys.readouterr()
    table = tmp_path / "audit.csv"
    assert main(["audit", "--since", "2020-01-01", "--csv", str(table)]) == 0
    said = capsys.readouterr().out
    for deed in ("made an invite", "made a link for a new owner of the tub", "was given what is stored", "erased ada"):
        assert f"command line         {deed}" in said
    assert "Ada" not in said + table.read_text("utf-8-sig")
    assert main(["audit", "--since", "2999-01-01T00:00+01:00"]) == 0
    assert "Nothing was done since 2998-12-31 23:00 UTC" in capsys.readouterr().out


def test_a_day_that_is_none_is_refused(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit):
        main(["audit", "--since", "yesterday"])
    assert "write one such as 2027-03-01" in capsys.readouterr().err

"""`brimful tub hand`: a link that makes a tub a new owner's alone."""

import asyncio
from pathlib import Path

import pytest

from bot.cli import main
from bot.command.dealer import DEMO
from bot.model.person import Person, digest_of
from bot.model.tub import Tub
from bot.store.sqlite import SqliteStore

ADA, BO = (Person(key=name.lower(), dealer=DEMO.key, name=name) for name in ("Ada", "Bo"))
TUBS = [Tub(key=f"t{number}", dealer=DEMO.key, serial=serial) for number, serial in enumerate(("S1", "S2", "S2"))]


@pytest.fixture
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    path = tmp_path / "b.db"
    monkeypatch.setenv("BRIMFUL_DATABASE", str(path))
    monkeypatch.delenv("BRIMFUL_DEALER", raising=False)
    monkeypatch.delenv("BRIMFUL_BOT", raising=False)

    async def fill() -> None:
        store = SqliteStore(path)
        await store.open()
        await store.put_dealer(DEMO)
        links = [("ada", "t0"), ("bo", "t0"), ("ada", "t1"), ("bo", "t2")]
        await store.put(DEMO.key, [ADA, BO], TUBS, links)
        await store.close()

    asyncio.run(fill())
    return path


@pytest.mark.parametrize("named", ["t0", "S1"])
def test_a_link_is_printed_once_and_whose_tub_it_was(
    database: Path, named: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tub", "hand", named, "--name", "Eve"]) == 0
    said = capsys.readouterr()
    secret = said.out.split()[-1]
    assert "no longer with Ada, Bo" in said.err
    assert secret not in database.read_bytes().decode("latin-1")
    assert digest_of(secret) in database.read_bytes().decode("latin-1")


@pytest.mark.parametrize(
    ("args", "says"),
    [(["none"], "no tub has that key"), (["S2"], "2 tubs have that serial"), (["t0", "--days", "0"], "1 to 365 days")],
)
def test_what_is_wrong_is_said_in_one_line(
    database: Path, args: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tub", "hand", *args]) == 2
    assert says in capsys.readouterr().err

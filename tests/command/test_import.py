"""`brimful import`: a look first, then the owners; again, and nothing changes."""

import asyncio
from pathlib import Path

import pytest

from bot.app import open_store
from bot.cli import main
from bot.model.trail import OwnersBrought
from bot.run.intake import Books, books_of

SHEET = """name;phone;model;vol
Anna Muster;0171 3920012;Model A5;1.350
Jan Probe;0171 3920013;Mod. A-5;400
???;;;1100
"""


@pytest.fixture
def house(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    (tmp_path / "dealer.toml").write_text('key = "house"\nname = "Tidewell Tubs"\nzone = "Europe/Berlin"\n')
    (tmp_path / "owners.csv").write_text(SHEET)
    monkeypatch.setenv("BRIMFUL_DEALER", str(tmp_path / "dealer.toml"))
    monkeypatch.setenv("BRIMFUL_DATABASE", str(tmp_path / "brimful.sqlite3"))
    return tmp_path


def books(house: Path) -> tuple[Books, list[OwnersBrought]]:
    async def read() -> tuple[Books, list[OwnersBrought]]:
        store = open_store(house / "brimful.sqlite3")
        await store.open()
        facts = [entry.fact for _, entry in await store.journal("house")]
        found = await books_of(store, "house")
        await store.close()
        return found, [fact for fact in facts if isinstance(fact, OwnersBrought)]

    return asyncio.run(read())


def names(house: Path) -> list[str]:
    return sorted(person.name for person in books(house)[0].people.values())


def test_a_dry_run_shows_everything_and_changes_nothing(house: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["import", str(house / "owners.csv"), "--dry-run"]) == 0
    out = capsys.readouterr().out
    for shown in ("semicolons", "country code: DE", "volume", "--unit", "--model 'Mod. A-5=Model A5'", "Line 4"):
        assert shown in out
    assert "2 new" in out
    assert names(house) == []


def test_without_a_terminal_nothing_is_changed_unless_it_was_agreed_to(house: Path):
    assert main(["import", str(house / "owners.csv")]) == 1
    assert names(house) == []


def test_owners_are_brought_in_once_however_often_and_it_is_written_down(house: Path):
    for _ in range(2):
        assert main(["import", str(house / "owners.csv"), "--yes", "--unit", "usgal"]) == 0
    found, brought = books(house)
    assert names(house) == ["Anna Muster", "Jan Probe"]
    assert sorted(tub.volume or 0 for tub in found.tubs.values()) == [1350.0, 1514.2]
    assert [(fact.file, fact.new, fact.rejected) for fact in brought] == [("owners.csv", 2, 1)]


def test_what_was_decided_is_remembered_for_the_next_sheet(house: Path, capsys: pytest.CaptureFixture[str]):
    said = ["--unit", "usgal", "--model", "Mod. A-5=Model A5"]
    assert main(["import", str(house / "owners.csv"), "--yes", *said]) == 0
    (house / "next.csv").write_text("name;phone;model;vol\nZoe Neu;0171 3920014;Mod. A-5;380\n")
    capsys.readouterr()
    assert main(["import", str(house / "next.csv"), "--yes"]) == 0
    assert "To decide" not in capsys.readouterr().out
    assert {tub.model for tub in books(house)[0].tubs.values()} == {"Model A5"}


def test_all_remarks_are_written_into_a_file(house: Path):
    out = house / "remarks.csv"
    assert main(["import", str(house / "owners.csv"), "--dry-run", "--remarks", str(out)]) == 0
    rows = out.read_text(encoding="utf-8-sig").splitlines()
    assert rows[0] == "line,column,weight,what"
    assert any(row.startswith("4,,reject,") for row in rows)


@pytest.mark.parametrize(
    ("arguments", "says"),
    [
        (["nowhere.csv"], "cannot be read"),
        (["owners.csv", "--column", "vol"], "TITLE=FIELD"),
        (["owners.csv", "--column", "vol=depth"], "TITLE=FIELD"),
        (["owners.csv", "--country", "Germany"], "two letters"),
        (["owners.csv", "--model", "x="], "SPELLING=MODEL"),
        (["owners.csv", "--encoding", "klingon"], "is not written in klingon"),
        (["prices.csv"], "no column"),
    ],
)
def test_bad_input_gets_one_sentence(
    house: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch, arguments: list[str], says: str
):
    monkeypatch.chdir(house)
    (house / "prices.csv").write_text("colour,price\nred,3\n")
    assert main(["import", *arguments]) == 2
    err = capsys.readouterr().err
    assert says in err
    assert err.count("\n") == 1

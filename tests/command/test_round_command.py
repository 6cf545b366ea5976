import asyncio
from datetime import UTC, datetime
from pathlib import Path

import pytest

from bot.cli import main
from bot.command.dealer import DEMO
from bot.model.person import Address, Person
from bot.model.tub import Tub
from bot.store.sqlite import SqliteStore

NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)


def person(key: str, **fields) -> Person:
    address = Address(channel="telegram", chat=key)
    whole = {"key": key, "dealer": DEMO.key, "name": key.title(), "address": address, "agreed_at": NOW, **fields}
    return Person.model_validate(whole)


@pytest.fixture
def database(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """Ada speaks English, Uwe German, and Sue wants no messages."""

    async def fill() -> None:
        store = SqliteStore(tmp_path / "b.db")
        await store.open()
        await store.put_dealer(DEMO)
        people = [person("ada"), person("uwe", language="de"), person("sue", standing="stopped")]
        tubs = [Tub(key=f"t{one.key}", dealer=DEMO.key, sanitizer="chlorine") for one in people]
        await store.put(DEMO.key, people, tubs, [(one.key, f"t{one.key}") for one in people])
        await store.close()

    asyncio.run(fill())
    monkeypatch.setenv("BRIMFUL_DATABASE", str(tmp_path / "b.db"))
    monkeypatch.delenv("BRIMFUL_DEALER", raising=False)
    return tmp_path


def run(capsys: pytest.CaptureFixture[str], *argv: str, code: int = 0) -> str:
    assert main(["round", *argv]) == code
    said = capsys.readouterr()
    return said.err if code else said.out


def test_counting_says_how_many_and_why_others_are_left_out(database: Path, capsys: pytest.CaptureFixture[str]):
    said = run(capsys, "count", "chlorine")
    assert "2 of 3 chosen owners get it" in said
    assert "1 who want no messages" in said
    assert "Ada, Uwe" in said or "Uwe, Ada" in said
    assert run(capsys, "list") == ""


def test_a_round_is_written_seen_started_and_reported(database: Path, capsys: pytest.CaptureFixture[str]):
    text = database / "en.txt"
    text.write_text("Hello {name}, we are closed next week.")
    said = run(capsys, "new", "all", "--text", f"en={text}", "--kind", "safety")
    assert "Hello Ada, we are closed next week." in said
    assert "[Habe ich gelesen] [Ruft mich an]" in said
    assert "language de: 1, who get it in en" in said
    key = said.split()[-1]
    assert "to be sent: 2" in run(capsys, "start", key)
    assert "is running" in run(capsys, "start", key, code=2)
    assert "to be sent: 2" in run(capsys, "pause", key)
    assert "is being sent" in run(capsys, "resume", key)
    assert "cancelled: 2" in run(capsys, "cancel", key)
    rows = run(capsys, "report", key).splitlines()
    assert rows[0].startswith("name,tub,language")
    assert [row.split(",")[0] for row in rows[1:]] == ["Ada", "Sue", "Uwe"]


@pytest.mark.parametrize(
    ("argv", "why"),
    [
        (["count", "purple"], "no criterion"),
        (["new", "all", "--text", "xx=en.txt"], "LANG=FILE"),
        (["new", "all", "--text", "en=nowhere.txt"], "cannot be read"),
        (["new", "all", "--text", "en={folder}/en.txt", "--when", "soon"], "--when soon"),
        (["new", "all", "--text", "en={folder}/bad.txt"], "Nothing can be filled in for first"),
        (["start", "r0"], "no round 'r0'"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(
    argv: list[str], why: str, database: Path, capsys: pytest.CaptureFixture[str]
):
    (database / "en.txt").write_text("Hello")
    (database / "bad.txt").write_text("Hello {first}")
    said = run(capsys, *(part.replace("{folder}", str(database)) for part in argv), code=2)
    assert why in said
    assert said.count("\n") == 1


def test_many_recipients_have_to_be_counted_out(
    database: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
):
    careful = database / "dealer.toml"
    careful.write_text(f'key = "{DEMO.key}"\nname = "{DEMO.name}"\n[bulk]\nconfirm_from = 2\n')

    async def change() -> None:
        from bot.command.dealer import read_dealer

        store = SqliteStore(database / "b.db")
        await store.open()
        await store.put_dealer(read_dealer(careful))
        await store.close()

    asyncio.run(change())
    (database / "en.txt").write_text("Hello")
    said = run(capsys, "new", "all", "--text", f"en={database / 'en.txt'}")
    assert "--number 2" in said
    key = next(word for word in said.split() if word.startswith("r") and len(word) == 9)
    assert "say so with --number 2" in run(capsys, "start", key, code=2)
    assert "say so with --number 2" in run(capsys, "start", key, "--number", "3", code=2)
    assert "to be sent: 2" in run(capsys, "start", key, "--number", "2")


def test_of_several_dealers_one_is_named(
    database: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
):
    folder = database / "dealers"
    folder.mkdir()
    for key in (DEMO.key, "northquay"):
        (folder / f"{key}.toml").write_text(f'key = "{key}"\nname = "{key.title()}"\n')
    monkeypatch.setenv("BRIMFUL_DEALER", str(folder))
    assert "say for which dealer with --dealer" in run(capsys, "count", "all", code=2)
    assert "2 of 3 chosen owners get it" in run(capsys, "--dealer", DEMO.key, "count", "all")

"""`brimful check` on real files and against a Bot API over HTTP: what is wrong is named, with how to mend it."""

import asyncio
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path

import pytest

from bot.command.check import main
from bot.run.clock import WallClock
from bot.store.sqlite import SqliteStore
from bot.store.sqlite.backup import back_up
from tests.botapi import Background, BotApi


@pytest.fixture(scope="module")
def api() -> Iterator[BotApi]:
    with Background() as api:
        yield api


async def made(path: Path) -> None:
    store = SqliteStore(path)
    await store.open()
    await store.close()


@pytest.fixture
def home(tmp_path: Path, api: BotApi, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A house in order."""
    path, backups, dealer = tmp_path / "b.sqlite3", tmp_path / "backups", tmp_path / "dealer.toml"
    asyncio.run(made(path))
    backups.mkdir()
    back_up(path, backups, WallClock().now())
    dealer.write_text('key = "kelp"\nname = "Kelp Tubs"\n')
    for name, value in {
        "DATABASE": path, "BACKUPS": backups, "DEALER": dealer, "TOKEN": api.token, "API_URL": api.url
    }.items():  # fmt: skip
        monkeypatch.setenv(f"BRIMFUL_{name}", str(value))
    return tmp_path


def wrong(capsys: pytest.CaptureFixture[str]) -> dict[str, str]:
    lines = [line.split(maxsplit=2) for line in capsys.readouterr().out.splitlines()]
    return {what: said for state, what, said in lines if state == "WRONG"}


def test_a_house_in_order_has_nothing_to_mend(home: Path, capsys: pytest.CaptureFixture[str]):
    assert main([]) == 0
    said = capsys.readouterr().out
    assert {line.split()[1] for line in said.splitlines()} == {
        "settings", "database", "disk", "backups", "dealer", "token", "clock", "webhook"
    }  # fmt: skip
    assert said.count("OK") == 8


def test_a_damaged_database_and_an_old_backup_are_named(home: Path, capsys: pytest.CaptureFixture[str]):
    for backup in (home / "backups").iterdir():
        backup.unlink()
    back_up(home / "b.sqlite3", home / "backups", WallClock().now() - timedelta(days=3))
    with (home / "b.sqlite3").open("r+b") as file:
        file.seek(4096 * 8)
        file.write(b"\xa5" * 4096 * 3)
    assert main([]) == 1
    found = wrong(capsys)
    assert set(found) == {"database", "backups"}
    assert "brimful restore" in found["database"]
    assert "3 days old" in found["backups"]


@pytest.mark.parametrize(
    ("setting", "value", "what", "says"),
    [
        ("TOKEN", "1:wrongwrongwrong", "token", "refuses the token"),
        ("TOKEN", "", "token", "BRIMFUL_TOKEN"),
        ("BOT", "somebody_else_bot", "token", "change one of them"),
        ("API_URL", "http://127.0.0.1:9", "service", "check network"),
        ("WEBHOOK", "https://bot.example.org", "webhook", "updates go to nowhere"),
        ("BACKUPS", "", "backups", "brimful-backup.timer"),
        ("DEALER", "", "dealer", "BRIMFUL_DEALER is not set"),
        ("WORKERS", "many", "settings", "BRIMFUL_WORKERS"),
        ("DATABASE", "/nowhere/b.sqlite3", "database", "there is no folder"),
        ("DATABASE", "postgresql://nobody@127.0.0.1:9/x", "database", "cannot be reached"),
    ],
)
def test_what_is_wrong_is_named_with_how_to_mend_it(
    home: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
    setting: str,
    value: str,
    what: str,
    says: str,
):
    monkeypatch.setenv(f"BRIMFUL_{setting}", value)
    assert main([]) == 1
    found = wrong(capsys)
    assert set(found) == {what}
    assert says in found[what]
    assert "wrongwrong" not in found[what]


def test_a_database_that_others_can_read_is_named(home: Path, capsys: pytest.CaptureFixture[str]):
    (home / "b.sqlite3").chmod(0o644)
    assert main([]) == 1
    assert "chmod 600" in wrong(capsys)["database"]

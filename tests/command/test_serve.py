"""The product as its users run it: `brimful serve` over HTTP, an invite from `brimful invite`, and an owner's phone."""

import os
import signal
import socket
import subprocess
import sys
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest

from tests.botapi import Background, BotApi

ROOT = Path(__file__).parents[2]
LONG = 90.0


def settings(api: BotApi, database: Path) -> dict[str, str]:
    return {
        **{name: value for name, value in os.environ.items() if not name.startswith("BRIMFUL_")},
        "BRIMFUL_DATABASE": str(database),
        "BRIMFUL_API_URL": api.url,
        "BRIMFUL_TOKEN": api.token,
        "BRIMFUL_LOG": "DEBUG",
    }


@contextmanager
def served(
    api: BotApi, database: Path, log: Path, more: dict[str, str] | None = None
) -> Iterator["subprocess.Popen[bytes]"]:
    with log.open("ab") as file:
        process = subprocess.Popen(
            [sys.executable, "-m", "bot", "serve"], cwd=ROOT, env=settings(api, database) | (more or {}), stderr=file
        )
        try:
            yield process
        finally:
            process.kill()
            process.wait()


def invited(api: BotApi, database: Path) -> str:
    """The secret of a fresh invite."""
    words = ["invite", "--name", "Ada", "--volume", "1300L", "--sanitizer", "chlorine"]
    done = subprocess.run(
        [sys.executable, "-m", "bot", *words],
        cwd=ROOT, env=settings(api, database), capture_output=True, text=True, check=True,
    )  # fmt: skip
    return done.stdout.strip().removeprefix("/start ")


@pytest.mark.timeout(240)
def test_an_invited_owner_is_welcomed_over_a_restart_and_neither_token_nor_invite_is_ever_logged(
    tmp_path: Path,
) -> None:
    database, log = tmp_path / "brimful.sqlite3", tmp_path / "log"
    with Background() as api:
        secret = invited(api, database)
        ada = api.person("Ada")
        with served(api, database, log) as process:
            ada.starts(secret)
            ada.awaits("Tidewell Tubs", within=LONG)
            ada.presses("All right, go on")
            ada.awaits("units", within=LONG)
            process.kill()
            process.wait()
        ada.presses("US gallons, °F")
        with served(api, database, log) as process:
            ada.awaits("town", within=LONG)
            process.send_signal(signal.SIGTERM)
            assert process.wait(timeout=LONG) == 0
        assert api.ledger.unconfirmed() == []
    written = log.read_text(encoding="utf-8", errors="replace")
    assert api.token not in written
    assert secret not in written
    assert sum("Tidewell Tubs" in text for text in ada.texts) == 1


@pytest.mark.timeout(240)
def test_a_wrong_token_ends_the_service_with_a_sentence(tmp_path: Path) -> None:
    with Background() as api:
        environment = settings(api, tmp_path / "b.sqlite3") | {"BRIMFUL_TOKEN": "1:wrongwrongwrong"}
        done = subprocess.run(
            [sys.executable, "-m", "bot", "serve"], cwd=ROOT, env=environment, capture_output=True, text=True,
            check=False, timeout=LONG,
        )  # fmt: skip
    assert done.returncode == 2
    assert "brimful serve: the service refuses the token" in done.stderr
    assert "wrongwrong" not in done.stderr


@pytest.mark.timeout(240)
def test_with_a_webhook_updates_come_through_the_door(tmp_path: Path) -> None:
    database, log = tmp_path / "brimful.sqlite3", tmp_path / "log"
    with Background() as api, closing(socket.create_server(("127.0.0.1", 0))) as free:
        port = free.getsockname()[1]
        free.close()
        secret = invited(api, database)
        ada = api.person("Ada")
        ada.starts(secret)
        more = {"BRIMFUL_WEBHOOK": f"http://127.0.0.1:{port}", "BRIMFUL_LISTEN": f"127.0.0.1:{port}"}
        with served(api, database, log, more) as process:
            api.wait(lambda: len(ada.messages) > 0, within=LONG)
            assert {handed.by for handed in api.ledger.handed} == {"webhook"}
            process.send_signal(signal.SIGTERM)
            assert process.wait(timeout=30) == 0
    assert "Traceback" not in log.read_text(encoding="utf-8")

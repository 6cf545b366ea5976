"""The command itself, in a process of its own, over HTTP."""

import os
import signal
import subprocess
import sys
from pathlib import Path

import pytest

from tests.botapi import Background, BotApi

ROOT = Path(__file__).parents[2]
START_SECONDS = 120.0


@pytest.fixture
def environment(tmp_path: Path) -> dict[str, str]:
    ours = {
        "BRIMFUL_DATABASE": str(tmp_path / "b.sqlite3"),
        "BRIMFUL_BOT": "brimful_double_bot",
        "BRIMFUL_LOG": "DEBUG",
    }
    others = {name: value for name, value in os.environ.items() if not name.startswith("BRIMFUL_")}
    return others | ours


@pytest.mark.timeout(400)
def test_an_invited_owner_taps_through_a_kill_and_an_orderly_end(tmp_path: Path, environment: dict[str, str]) -> None:
    link = brimful(["invite", "--name", "Ada", "--volume", "1300L", "--sanitizer", "chlorine"], environment)
    secret = link.split()[0].rpartition("start=")[2]
    with Background(BotApi(query_seconds=600)) as api, (tmp_path / "log").open("w") as log:
        ada = api.person("Ada", language_code="en")
        ada.starts(secret)
        first = serve(api, environment, log)
        processes = [first]
        try:
            api.wait(lambda: bool(ada.labels), within=START_SECONDS)
            welcomed = len(ada.messages)
            first.kill()
            first.wait()
            press = ada.presses(ada.labels[0])
            second = serve(api, environment, log)
            processes.append(second)
            api.wait(lambda: len(ada.messages) > welcomed and api.queries[press["id"]].answered, within=START_SECONDS)
            assert api.token not in command_line(second)
            second.send_signal(signal.SIGTERM)
            assert second.wait(timeout=30) == 0
        finally:
            for process in processes:
                process.kill()
        assert api.ledger.unconfirmed() == []
        assert len(ada.texts) == len(set(ada.texts))
    said = (tmp_path / "log").read_text(encoding="utf-8")
    assert said
    for hidden in (api.token, secret, "Traceback"):
        assert hidden not in said


def brimful(words: list[str], environment: dict[str, str]) -> str:
    """What a command prints."""
    done = subprocess.run(
        [sys.executable, "-m", "bot", *words], cwd=ROOT, env=environment, capture_output=True, text=True, check=True
    )
    return done.stdout


def serve(api: BotApi, environment: dict[str, str], log: object) -> "subprocess.Popen[bytes]":
    """The service, pointed at the double."""
    pointed = environment | {"BRIMFUL_TOKEN": api.token, "BRIMFUL_API_URL": api.url}
    return subprocess.Popen([sys.executable, "-m", "bot", "serve"], cwd=ROOT, env=pointed, stdout=log, stderr=log)


def command_line(process: "subprocess.Popen[bytes]") -> str:
    """How the process shows in the system's list; empty where the system has no such list."""
    path = Path(f"/proc/{process.pid}/cmdline")
    return path.read_text(encoding="utf-8") if path.exists() else ""

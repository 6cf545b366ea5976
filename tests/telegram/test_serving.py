"""The command itself, in a process of its own, over HTTP."""

import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from tests.botapi import Background, BotApi
from tests.botapi.groups import Group

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


@pytest.mark.timeout(600)
def test_owner_technician_and_dealer_go_from_a_red_flag_to_its_end_in_a_topic_through_a_kill(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    with Background(BotApi(query_seconds=600)) as api, (tmp_path / "log").open("w") as log:
        ada, tom, dee = (api.person(name, language_code="en") for name in ("Ada", "Tom", "Dee"))
        for person, role in ((ada, "owner"), (tom, "technician"), (dee, "dealer")):
            link = brimful(["invite", "--name", person.user.first_name, "--role", role], environment)
            person.starts(link.split()[0].rpartition("start=")[2])
        crew = api.group("Crew", forum=True)
        crew.adds_bot(dee, admin=True)
        for person in (tom, dee):
            crew.joins(person)
        processes = [serve(api, environment, log)]
        try:
            dee.awaits("people now", within=START_SECONDS)
            dee.writes("/cases", into=crew)
            api.wait(lambda: any("come to this group" in said(one) for one in crew.messages), within=60)
            ada.writes("I got an electric shock in the water")
            api.wait(lambda: len(crew.chat.topics) == 1 and "Take it" in labels(crew), within=60)
            topic = next(iter(crew.chat.topics.values()))
            tom.presses("Take it", on=crew.messages[-1])
            ada.awaits("Tom is looking at this", within=60)
            tom.writes("Stay out, I am calling you.", into=crew, topic=topic)
            ada.awaits("Stay out, I am calling you.", within=60)
            processes[0].kill()
            processes[0].wait()
            ada.writes("my hand is still numb")
            tom.writes("Is the power off?", into=crew, topic=topic)
            dee.writes("I can drive there", into=crew, topic=topic)
            processes.append(serve(api, environment, log))
            ada.awaits("Is the power off?", within=START_SECONDS)
            api.wait(lambda: any("my hand is still numb" in said(one) for one in crew.messages), within=60)
            tom.presses("Clear it", on=next(one for one in crew.messages if "Clear it" in str(one.get("reply_markup"))))
            ada.awaits("cleared it", within=60)
            api.wait(lambda: topic.closed, within=60)
        finally:
            for process in processes:
                process.kill()
                process.wait()
        assert not any("I can drive there" in text for text in ada.texts)
        told = [said(one) for one in crew.messages if one.get("message_thread_id") == topic.id]
        assert len(crew.chat.topics) == 1
        assert sum("my hand is still numb" in text for text in told) == 1
        assert len(ada.texts) == len(set(ada.texts))


@pytest.mark.timeout(400)
def test_once_the_token_is_another_what_was_written_meanwhile_is_answered(
    tmp_path: Path, environment: dict[str, str]
) -> None:
    link = brimful(["invite", "--name", "Ada", "--volume", "1300L", "--sanitizer", "chlorine"], environment)
    secret = link.split()[0].rpartition("start=")[2]
    noted = (tmp_path / "log").read_text
    with Background(BotApi(query_seconds=600)) as api, (tmp_path / "log").open("w") as log:
        ada = api.person("Ada", language_code="en")
        ada.starts(secret)
        processes = [serve(api, environment, log)]
        try:
            api.wait(lambda: bool(ada.labels), within=START_SECONDS)
            told = len(ada.messages)
            old, api.token = api.token, "5550001234:AAG-another_token_of_the_same_bot_name"
            ada.writes("my data")
            api.wait(lambda: "refuses the token" in noted(encoding="utf-8"), within=60)
            processes[0].send_signal(signal.SIGTERM)
            assert processes[0].wait(timeout=30) == 1  # it ends orderly, and says that it was in trouble
            processes.append(serve(api, environment, log))
            api.wait(lambda: len(ada.messages) > told and not api.ledger.unconfirmed(), within=START_SECONDS)
        finally:
            for process in processes:
                process.kill()
                process.wait()
        assert api.ledger.unconfirmed() == []
        assert len(ada.texts) == len(set(ada.texts))
    for hidden in (old, api.token, "Traceback"):
        assert hidden not in noted(encoding="utf-8")


def said(message: dict[str, Any]) -> str:
    return str(message.get("text", ""))


def labels(group: Group) -> str:
    return str([message.get("reply_markup") for message in group.messages])


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

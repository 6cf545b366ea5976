"""The log of the service is lines of JSON, in which neither a person's words nor a secret can stand."""

import json
import logging
from collections.abc import Iterator

import pytest

from bot.channels.telegram.redaction import hide
from bot.command.logs import write_logs


@pytest.fixture(autouse=True)
def as_before() -> Iterator[None]:
    root = logging.getLogger()
    handlers, level = root.handlers[:], root.level
    yield
    root.handlers[:], root.level = handlers, level


def test_every_record_is_a_line_of_json_with_its_time_level_and_place(capsys: pytest.CaptureFixture[str]):
    write_logs("INFO", as_json=True)
    logging.getLogger("bot.run.post").warning("parcel %d was refused\n(%s)", 7, "later")
    (line,) = capsys.readouterr().err.splitlines()
    record = json.loads(line)
    assert record["event"] == "parcel 7 was refused\n(later)"
    assert (record["level"], record["logger"]) == ("warning", "bot.run.post")
    assert record["timestamp"].endswith("Z")


def stumble() -> None:
    raise ValueError("my blue heron hums")


@pytest.mark.parametrize("as_json", [True, False])
def test_of_an_error_its_kind_and_place_are_written_and_not_what_it_says(
    capsys: pytest.CaptureFixture[str], *, as_json: bool
):
    write_logs("INFO", as_json=as_json)
    hide("12:a-secret-token")
    try:
        stumble()
    except ValueError:
        logging.getLogger("asyncio").exception("a task failed with 12:a-secret-token")
    said = capsys.readouterr().err
    assert "ValueError" in said
    assert "test_logs.py" in said
    assert "heron" not in said
    assert "a-secret" not in said
    assert len(said.splitlines()) == 1


def test_what_is_below_the_level_is_not_written(capsys: pytest.CaptureFixture[str]):
    write_logs("WARNING", as_json=True)
    logging.getLogger("bot").info("nothing")
    assert capsys.readouterr().err == ""

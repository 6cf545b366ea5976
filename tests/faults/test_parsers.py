"""What reaches the parsers from outside, whole or damaged, is read or refused with one sentence; memory is bounded.

Texts that people write have the walks of tests/fuzz.
"""

import asyncio
import io
import json
import os
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Callable, Iterator
from datetime import date
from pathlib import Path
from typing import Any

import aiohttp
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.channels.telegram import TelegramChannel
from bot.command.dealer import BadHouse, files_of, read_dealer
from bot.desk.intake.opening import open_table
from bot.desk.intake.sheet import Choices, read_sheet
from bot.desk.intake.table import MOST_BYTES, Formula, Unreadable
from bot.model.event import File, Sent
from bot.run.door import LARGEST_BODY, SECRET_HEADER, Door
from bot.store.sqlite import SqliteStore
from bot.talk.buttons import decode, encode
from bot.talk.sheets import unreadable
from bot.talk.words import Words, languages
from tests.botapi import Background, BotApi, Limits
from tests.desk.sheets import TODAY, workbook
from tests.faults.named import ROOT
from tests.talk.world import World
from tests.telegram.desk import Desk, channel_to

FEW = settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck))
SHEET = (
    'name;phone;model;vol;delivered;notes\r\n"Muster; Anna";0171 3920012;Model A5;1.350;03/04/2026;"gate\r\ncode"\r\n'
    "Jörg Prüfer;+49 171 3920013;Mod. A-5;400 gal;2026-04-05;'=1+1\r\n"
)
EXAMPLE = (ROOT / "deploy" / "dealer.example.toml").read_text("utf-8")
JUNK = (
    "", "\x00", "'", '"', "=", "[", "]" * 3, "[" * 3000, "{", "-1", "nan", "1e999", "9" * 5000, "0x" + "f" * 5000,
    "\ud800", "\u202e", "é", "\r", "\n\n", ";" * 300, "sep=\"\n", "2027-02-30", "&a;", "<!DOCTYPE x>", "PK\x03\x04",
)  # fmt: skip


@st.composite
def damaged(draw: st.DrawFn, whole: bytes) -> bytes:
    """A valid sample in which up to four places were cut out, doubled, or replaced."""
    content = whole
    for _ in range(draw(st.integers(1, 4))):
        start = draw(st.integers(0, len(content)))
        end = min(len(content), start + draw(st.sampled_from((0, 0, 1, 2, 9, 60, 2000))))
        junk = draw(
            st.sampled_from(JUNK).map(lambda text: text.encode("utf-8", "surrogatepass"))
            | st.binary(max_size=8)
            | st.just(content[start:end] * 2)
        )
        content = content[:start] + junk + content[end:]
    return content


def is_one_sentence(said: str) -> bool:
    """Whether it can stand on a line, as what somebody is told."""
    return 10 < len(said) < 400 and said.isprintable()


def read_or_refused(content: bytes, **how: str) -> None:
    """A list is read, or refused with one sentence in every language."""
    try:
        read_sheet(open_table(content, **how), Choices(country="DE"), TODAY)
    except Unreadable as wrong:
        refused = wrong
    else:
        return
    for language in languages():
        assert is_one_sentence(Words(language).text(unreadable(refused.code, refused.values)))


def repacked(whole: bytes, change: Callable[[str, bytes], bytes]) -> bytes:
    """A workbook whose parts went through a change."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(whole)) as honest, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name in honest.namelist():
            archive.writestr(name, change(name, honest.read(name)))
    return out.getvalue()


BOOK = workbook(["name", "phone", "vol", "delivered"], ["Anna", "0171 3920012", "=1000+300", date(2026, 4, 3)])


@FEW
@given(damaged(SHEET.encode()) | damaged(SHEET.encode("cp1252")) | damaged(SHEET.encode("utf-16")))
def test_a_damaged_csv_file_is_read_or_refused_with_a_sentence(content: bytes) -> None:
    read_or_refused(content)


@FEW
@given(
    st.text(max_size=12) | st.sampled_from(("zip", "hex", "rot13", "idna", "utf-7", "undefined", "a\x00b", "x" * 999))
)
def test_an_encoding_of_any_name_is_used_or_refused_with_a_sentence(encoding: str) -> None:
    read_or_refused(SHEET.encode(), encoding=encoding)


@FEW
@given(damaged(BOOK))
def test_a_damaged_workbook_is_read_or_refused_with_a_sentence(content: bytes) -> None:
    read_or_refused(content)


@FEW
@given(st.data())
def test_a_workbook_with_a_damaged_part_is_read_or_refused_with_a_sentence(data: st.DataObject) -> None:
    with zipfile.ZipFile(io.BytesIO(BOOK)) as archive:
        chosen = data.draw(st.sampled_from(archive.namelist()))
    read_or_refused(repacked(BOOK, lambda name, part: data.draw(damaged(part)) if name == chosen else part))


CELLS = (
    st.text(st.characters(min_codepoint=32, exclude_categories=("Cs",), exclude_characters="\ufffe\uffff"), max_size=30)
    | st.sampled_from(("=1+1", '=HYPERLINK("http://127.0.0.1")', "=cmd|' /C calc'!A0", "@SUM(1)", "#REF!", "x" * 5000))
    | st.integers(-(10**20), 10**20)
    | st.floats(allow_nan=False, allow_infinity=False)
    | st.dates(date(1900, 3, 1))
    | st.booleans()
    | st.none()
)


@FEW
@given(st.lists(CELLS, min_size=1, max_size=6))
def test_cells_of_every_kind_are_read_and_no_formula_is_ever_taken_for_its_text(cells: list[Any]) -> None:
    content = workbook(["name", *cells], ["Anna", "=1+1"])
    read_or_refused(content)
    assert open_table(content).rows[-1].cells == ("Anna", Formula())


@pytest.fixture(scope="module")
def dealer_file(tmp_path_factory: pytest.TempPathFactory) -> Path:
    return tmp_path_factory.mktemp("dealer") / "dealer.toml"


def dealer_or_refused(file: Path, content: bytes) -> None:
    file.write_bytes(content)
    faults = ["none, so far"]
    try:
        read_dealer(file)
    except BadHouse as refused:
        faults = refused.faults
    assert faults
    assert [fault for fault in faults if not fault.isprintable()] == []
    assert file in files_of(file)


@FEW
@given(damaged(EXAMPLE.encode()))
def test_a_damaged_dealer_file_is_read_or_refused_with_sentences(dealer_file: Path, content: bytes) -> None:
    dealer_or_refused(dealer_file, content)


VALUES = (
    "[[]]", "{}", "{a = {a = 1}}", "-1", "nan", "-inf", "1e308", "true", '""', '"\\u0000"', "07:30:00", "1979-05-27",
    "0x" + "f" * 5000, "9" * 5000, "[" * 3000 + "]" * 3000, '"' + "x" * 5000 + '"', "['a', 1, {}]",
)  # fmt: skip
NAMES = sorted(
    {line.split("=")[0].strip("# ") for line in EXAMPLE.splitlines() if "=" in line} | set(tomllib.loads(EXAMPLE))
)


@FEW
@given(st.sampled_from([name for name in NAMES if name.replace("_", "").isalnum()]), st.sampled_from(VALUES))
def test_a_setting_of_any_type_is_taken_or_refused_with_a_sentence(dealer_file: Path, name: str, value: str) -> None:
    dealer_or_refused(
        dealer_file, f"{name} = {value}\n[[product]]\n{name} = {value}\n[strip]\n{name} = {value}\n".encode()
    )


@FEW
@given(st.text(max_size=80) | damaged(b"1a.12.3.4").map(lambda data: data.decode("utf-8", "replace")))
def test_what_a_button_never_carried_is_nothing_and_all_else_is_what_it_carried(data: str) -> None:
    if (pressed := decode(data)) is not None and "1a" not in data:
        assert encode(pressed) == data


def test_presses_of_any_data_end_nothing() -> None:
    with World() as world:
        people = [world.owner("Ada"), world.staff("Tom"), world.staff("Dee", "dealer"), world.stranger("Zed")]
        long = f"1a.{'9' * 60}.0.0", f"1a.0.{'9' * 20}.{'9' * 20}", "1a." + "9" * 5000 + ".1.1"
        for kind in "acrkop":
            for rest in (
                "",
                ".",
                "..",
                ".\x00.x.y",
                ".a.b.c.d",
                ".house.test.done",
                ".1.take",
                ".{0}",
                ".'--",
                ".no.go",
            ):
                long += (f"1{kind}{rest}",)
        for person in people[:3]:
            for data in long:
                person.taps_data(data)
        assert people[0].says("history").new


@pytest.fixture(scope="module")
def bring(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Callable[[bytes, dict[str, str]], int]]:
    """Brings a body to the door of a channel that takes updates, with the right secret; gives the status."""
    with Background(BotApi(limits=Limits.none())) as api, asyncio.Runner() as runner:
        store, desk = SqliteStore(tmp_path_factory.mktemp("door") / "b.db"), Desk()
        takers: dict[str, TelegramChannel] = {}
        door = Door(store, takers)
        runner.run(store.open())
        url = f"http://127.0.0.1:{runner.run(door.open('127.0.0.1', 0))}/updates/dealer-1"
        takers["dealer-1"] = channel = channel_to(api, url)
        runner.run(channel.start(desk.receive))
        assert channel._webhook is not None
        secret = channel._webhook.secret

        async def post(body: bytes, headers: dict[str, str]) -> int:
            async with (
                aiohttp.ClientSession() as session,
                session.post(url, data=io.BytesIO(body), headers={SECRET_HEADER: secret, **headers}) as answer,
            ):
                assert len(await answer.text()) < 200
                return answer.status

        yield lambda body, headers: runner.run(post(body, headers))
        runner.run(channel.stop())
        runner.run(door.close())
        runner.run(store.close())


UPDATE = json.dumps(
    {
        "update_id": 7,
        "message": {
            "message_id": 1,
            "date": 1,
            "chat": {"id": 5, "type": "private"},
            "from": {"id": 5, "is_bot": False, "first_name": "Ada"},
            "photo": [{"file_id": "a", "file_unique_id": "a", "width": 1, "height": 1, "file_size": 2 * 10**9}],
        },
    }
).encode()


@FEW
@given(damaged(UPDATE))
def test_a_damaged_update_is_kept_or_refused(bring: Callable[[bytes, dict[str, str]], int], body: bytes) -> None:
    assert bring(body, {}) in (200, 400)


TREE = st.recursive(
    st.none() | st.booleans() | st.integers() | st.text(max_size=5) | st.sampled_from((10**30, -1, 2**63)),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.sampled_from(("message", "chat", "id", "data", "from")), inner)
    ),
    max_leaves=8,
)  # fmt: skip


@FEW
@given(st.sampled_from(("message", "callback_query", "edited_message", "my_chat_member")), TREE, TREE)
def test_an_update_of_wrong_types_is_kept_as_it_came(
    bring: Callable[[bytes, dict[str, str]], int], kind: str, tree: object, chat: object
) -> None:
    body = {"update_id": 8, kind: tree if tree is None or isinstance(tree, bool) else {"chat": chat, "x": tree}}
    assert bring(json.dumps(body).encode(), {}) == 200


@pytest.mark.parametrize(
    ("body", "headers", "status"),
    [
        (b" " * LARGEST_BODY + UPDATE, {}, 413),
        (b'{"update_id": 1, "x": ' + b"[" * 200_000 + b"]" * 200_000 + b"}", {}, 400),
        (b'{"update_id": ' + b"9" * 5000 + b"}", {}, 400),
        (UPDATE, {"Content-Type": "text/plain; charset=nothing"}, 400),
        (UPDATE, {"Content-Type": "text/plain; charset=hex"}, 400),
        (b"no gzip", {"Content-Encoding": "gzip"}, 400),
    ],
)
def test_bodies_that_are_no_updates_are_refused(
    bring: Callable[[bytes, dict[str, str]], int], body: bytes, headers: dict[str, str], status: int
) -> None:
    assert bring(body, headers) == status


def test_an_upload_that_calls_itself_two_gigabytes_is_refused_unfetched_and_one_that_lies_is_refused_too() -> None:
    with World() as world:
        dealer = world.staff("Dee", "dealer")
        with (world.folder / "list.csv").open("wb") as file:
            file.write(b"name,phone\n")
            file.truncate(MOST_BYTES + 1)
        for reference, size in (("nowhere", 2 * 10**9), ("list.csv", 12), ("list.csv", None)):
            file_of = File(what="document", reference=reference, name="list.csv", size=size)
            dealer.does(Sent(files=(file_of,)))
            assert f"{MOST_BYTES // 1_000_000}" in dealer.last.text


MEMORY = 600_000_000
LIMITED = """import pathlib, resource, sys
resource.setrlimit(resource.RLIMIT_AS, (2_000_000_000, 2_000_000_000))
from bot.cli import main
for path in sys.argv[1:]:
    print(main(["import", path, "--dry-run"]), path)
peak = pathlib.Path("/proc/self/status").read_text().partition("VmHWM:")[2].split()[0]
print(int(peak) * 1024)
"""
XML = b'<%b xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main">'


def packed(element: bytes, size: int) -> bytes:
    """So many bytes of elements that pack no better than an honest sheet does."""
    unit = element * (2000 // len(element))
    return b"".join(unit + b"<!--%b-->" % os.urandom(10).hex().encode() for _ in range(size // len(unit)))


def sheet_of(inside: bytes) -> bytes:
    row = XML % b"worksheet" + b"<sheetData>" + inside + b"</sheetData></worksheet>"
    return repacked(BOOK, lambda name, part: row if name == "xl/worksheets/sheet1.xml" else part)


def styles() -> bytes:
    return XML % b"styleSheet" + packed(b"<a/>", 20_000_000) + b"</styleSheet>"


HUGE: dict[str, Callable[[], bytes]] = {
    "bomb": lambda: sheet_of(b" " * 90_000_000),
    "cells_in_a_row": lambda: sheet_of(b"<row>" + packed(b"<c><v>1</v></c>", 20_000_000) + b"</row>"),
    "styles": lambda: repacked(BOOK, lambda name, part: styles() if name == "xl/styles.xml" else part),
    "rows": lambda: b"name,phone\n" + b"Anna,0171 3920012\n" * 1_000_000,
    "rows_in_an_old_page": lambda: b"n\xe9m\n" + b"ab\n" * 6_000_000,
    "columns": lambda: b"ab," * 6_000_000,
}
"""Lists that are small enough to be taken, and were made to fill memory."""


def test_lists_made_to_fill_memory_are_refused_within_bounds(tmp_path: Path) -> None:
    for name, made in HUGE.items():
        (tmp_path / name).write_bytes(made())
        assert (tmp_path / name).stat().st_size <= MOST_BYTES
    done = subprocess.run(
        [sys.executable, "-c", LIMITED, *HUGE],
        cwd=tmp_path, env=os.environ | {"PYTHONPATH": str(ROOT)}, capture_output=True, text=True, check=True,
    )  # fmt: skip
    *ended, peak = done.stdout.splitlines()
    assert ended == [f"2 {name}" for name in HUGE]
    said = dict(line.removeprefix("brimful import: ").split(": ", 1) for line in done.stderr.splitlines())
    assert list(said) == list(HUGE)
    assert [sentence for sentence in said.values() if not is_one_sentence(sentence)] == []
    assert int(peak) < MEMORY

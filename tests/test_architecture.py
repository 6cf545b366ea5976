"""What the house promises of its own shape, beyond what the import contracts hold."""

import ast
from collections.abc import Iterator
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent
SOURCES = sorted(path for room in ("bot", "dosing") for path in (ROOT / room).rglob("*.py"))
ALLOWED_AT_TOP = {"README.md", "DEVELOPERS.md", "pyproject.toml", "bot", "dosing", "tests", "deploy"}
NEVER_IMPORTED = {"pickle", "shelve", "apscheduler.jobstores", "telegram.ext.PicklePersistence", "sqlalchemy"}
PURE = ("bot/talk", "bot/schedule", "dosing")
IMPURE = {"asyncio", "socket", "sqlite3", "sqlite_utils", "random", "time", "secrets", "subprocess", "telegram"}


def imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            yield node.module
            yield from (f"{node.module}.{alias.name}" for alias in node.names)


def named(path: Path) -> str:
    return path.relative_to(ROOT).as_posix()


@pytest.mark.parametrize("path", SOURCES, ids=named)
def test_no_state_is_pickled_and_no_job_store_is_used(path: Path) -> None:
    assert not NEVER_IMPORTED & set(imports(path))


@pytest.mark.parametrize("path", [path for path in SOURCES if named(path).startswith(PURE)], ids=named)
def test_the_pure_rooms_touch_no_clock_no_network_and_no_database(path: Path) -> None:
    assert not IMPURE & {name.split(".")[0] for name in imports(path)}


@pytest.mark.parametrize("path", SOURCES, ids=named)
def test_only_the_clock_asks_what_time_it_is(path: Path) -> None:
    if named(path) == "bot/run/clock.py":
        return
    calls = [
        f"{node.func.value.id}.{node.func.attr}"
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8")))
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and isinstance(node.func.value, ast.Name)
    ]
    assert not {"datetime.now", "datetime.utcnow", "date.today", "time.time"} & set(calls)


@pytest.mark.parametrize("path", SOURCES, ids=named)
def test_no_file_needs_scrolling_for_ever(path: Path) -> None:
    assert len(path.read_text(encoding="utf-8").splitlines()) <= 400


@pytest.mark.parametrize("path", SOURCES, ids=named)
def test_no_module_is_a_rest_of_things(path: Path) -> None:
    assert path.stem not in {"utils", "helpers", "common", "manager", "misc"}


def test_nothing_else_stands_at_the_top() -> None:
    there = {path.name for path in ROOT.iterdir() if not path.name.startswith(".") and path.name != "__pycache__"}
    assert {name for name in there if not name.endswith(".egg-info")} <= ALLOWED_AT_TOP

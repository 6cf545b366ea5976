"""`deploy/run.py` makes its own environment once, from the locks alone, and hands every word on."""

import ast
import importlib.util
import os
import re
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).parents[2]
RUN = ROOT / "deploy" / "run.py"


@pytest.fixture
def run(tmp_path: Path) -> ModuleType:
    """The program, in a project of its own."""
    spec = importlib.util.spec_from_file_location("run", RUN)
    assert spec
    assert spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    (tmp_path / "deploy").mkdir()
    (tmp_path / "pyproject.toml").write_text("[project]\nname = 'x'\n", encoding="utf-8")
    module.ROOT, module.ENVIRONMENT = tmp_path, tmp_path / ".venv"  # type: ignore[attr-defined]
    module.LOCKS = {name: tmp_path / "deploy" / f"{name}.txt" for name in ("run", "test")}  # type: ignore[attr-defined]
    for lock in module.LOCKS.values():
        lock.write_text("", encoding="utf-8")
    module.ENVIRONMENT.mkdir()
    return module


def made(run: ModuleType, purpose: str) -> None:
    run.stamp(purpose).write_text(run.wanted(purpose), encoding="ascii")


def test_it_needs_nothing_but_the_standard_library() -> None:
    imported = {
        name.split(".")[0]
        for node in ast.walk(ast.parse(RUN.read_text(encoding="utf-8")))
        for name in (
            [alias.name for alias in node.names]
            if isinstance(node, ast.Import)
            else [node.module or ""]
            if isinstance(node, ast.ImportFrom)
            else []
        )
    }
    assert imported <= sys.stdlib_module_names


def test_the_second_time_it_only_looks(run: ModuleType) -> None:
    made(run, "run")
    assert run.make_ready("run") is None


@pytest.mark.parametrize("changed", ["pyproject.toml", "deploy/run.txt"])
def test_a_change_of_what_is_wanted_is_noticed(run: ModuleType, changed: str) -> None:
    made(run, "run")
    assert run.is_ready("run")
    (run.ROOT / changed).write_text("[project]\nname = 'y'\n", encoding="utf-8")
    assert not run.is_ready("run")


def test_an_environment_for_tests_can_run_the_program_but_not_the_other_way(run: ModuleType) -> None:
    made(run, "test")
    assert run.is_ready("run")
    run.stamp("test").unlink()
    made(run, "run")
    assert not run.is_ready("test")


def test_an_environment_that_was_moved_is_made_again(run: ModuleType, tmp_path: Path) -> None:
    made(run, "run")
    run.ROOT = tmp_path / "elsewhere"  # type: ignore[attr-defined]
    run.ROOT.mkdir()
    (run.ROOT / "pyproject.toml").write_bytes((tmp_path / "pyproject.toml").read_bytes())
    assert not run.is_ready("run")


def test_words_reach_the_program_as_they_are() -> None:
    done = subprocess.run(
        [sys.executable, "-c", PROBE, str(RUN)],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PROBE": "1"},
    )
    assert done.stdout.splitlines() == [
        "['-m', 'bot', 'plan', '--reading', 'fc 1, ph 8']",
        "['-m', 'pytest', '-n', 'auto', '-k', 'dose']",
        "['-m', 'bot']",
    ]


PROBE = """
import importlib.util, sys
spec = importlib.util.spec_from_file_location("run", sys.argv[1])
run = importlib.util.module_from_spec(spec)
spec.loader.exec_module(run)
run.make_ready = lambda purpose: None
run.run = lambda command: print(command) or 0
run.main(["plan", "--reading", "fc 1, ph 8"])
run.main(["test", "-k", "dose"])
run.main([])
"""


def locked(name: str) -> dict[str, str]:
    text = (ROOT / "deploy" / name).read_text(encoding="utf-8")
    return dict(re.findall(r"^([a-z0-9-]+)==([^ \\;]+)", text, re.MULTILINE))


@pytest.mark.parametrize("name", ["locked.txt", "locked-test.txt"])
def test_everything_is_locked_by_hash(name: str) -> None:
    text = (ROOT / "deploy" / name).read_text(encoding="utf-8").replace("\\\n", "")
    wanted = [line for line in text.splitlines() if line and not line.lstrip().startswith("#")]
    assert wanted
    assert [line for line in wanted if "==" not in line or "--hash=sha256:" not in line] == []


def test_what_is_locked_for_tests_runs_the_program_with_the_same_versions() -> None:
    assert locked("locked.txt").items() <= locked("locked-test.txt").items()


def test_every_dependency_of_the_project_is_locked() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]

    def names(wanted: list[str]) -> set[str]:
        return {re.split(r"[^A-Za-z0-9-]", one)[0].lower() for one in wanted}

    assert names(project["dependencies"]) <= locked("locked.txt").keys()
    assert names(project["optional-dependencies"]["test"]) <= locked("locked-test.txt").keys()

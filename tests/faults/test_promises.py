"""What the README promises is held by tests that are there."""

import ast
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
SECTION = (ROOT / "README.md").read_text("utf-8").partition("## The promise\n")[2].partition("\n## ")[0]
PROMISES = [row for row in SECTION.splitlines() if row.startswith("* ")]


def test_there_are_promises() -> None:
    assert PROMISES


@pytest.mark.parametrize("promise", PROMISES)
def test_a_promise_names_a_test_that_is_there(promise: str) -> None:
    named = re.search(r"`(tests/[\w/]+\.py)(?:::(\w+))?`$", promise)
    assert named, promise
    tree = ast.parse((ROOT / named[1]).read_text("utf-8"))
    functions = {node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef)}
    assert named[2] in functions if named[2] else any(name.startswith("test_") for name in functions)

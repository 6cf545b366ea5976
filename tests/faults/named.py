"""Tests that are named elsewhere: in what is promised, and in the list of failures."""

import ast
from functools import cache
from pathlib import Path

ROOT = Path(__file__).parents[2]


@cache
def tests_in(path: str) -> frozenset[str]:
    """The names of the tests in a file of this project."""
    tree = ast.parse((ROOT / path).read_text("utf-8"))
    functions = (node.name for node in ast.walk(tree) if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef))
    return frozenset(name for name in functions if name.startswith("test_"))


def is_there(named: str) -> bool:
    """Whether there is a test of that name, or in a file of that name any."""
    path, _, name = named.partition("::")
    if not (ROOT / path).is_file():
        return False
    return name in tests_in(path) if name else bool(tests_in(path))

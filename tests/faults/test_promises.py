"""What the README promises, and what such programs are known to fail at, is held by tests that are there."""

import re
import tomllib

import pytest

from tests.faults.named import ROOT, is_there

SECTION = (ROOT / "README.md").read_text("utf-8").partition("## The promise\n")[2].partition("\n## ")[0]
PROMISES = [row for row in SECTION.splitlines() if row.startswith("* ")]
FAILURES = tomllib.loads((ROOT / "tests/faults/failures.toml").read_text("utf-8"))["failure"]


def test_there_are_promises_and_failures() -> None:
    assert PROMISES
    assert len({failure["what"] for failure in FAILURES}) == len(FAILURES) > 90


@pytest.mark.parametrize("promise", PROMISES)
def test_a_promise_names_a_test_that_is_there(promise: str) -> None:
    named = re.search(r"`(tests/[\w/]+\.py(?:::\w+)?)`$", promise)
    assert named, promise
    assert is_there(named[1])


@pytest.mark.parametrize("failure", FAILURES, ids=lambda failure: failure["what"])
def test_a_failure_has_its_tests_or_the_reason_why_it_needs_none(failure: dict[str, object]) -> None:
    assert set(failure) in ({"what", "tests"}, {"what", "why_not"})
    tests = failure.get("tests", [])
    assert isinstance(tests, list)
    assert [test for test in tests if not is_there(test)] == []
    assert tests or failure.get("why_not")


def test_a_test_that_is_not_there_is_noticed() -> None:
    assert not is_there("tests/faults/test_promises.py::test_of_nothing")
    assert not is_there("tests/faults/test_nothing.py")

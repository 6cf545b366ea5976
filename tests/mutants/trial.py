"""Runs tests against one planted fault at a time."""

from __future__ import annotations

import contextlib
import functools
import gc
import importlib.abc
import importlib.util
import io
import multiprocessing
import os
import resource
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import CodeType, FunctionType, ModuleType
from typing import NamedTuple

import pytest
from _pytest.runner import runtestprotocol
from hypothesis import HealthCheck, Phase, settings

from tests.mutants.faults import planted

Place = tuple[str, str]
ROOT = Path(__file__).resolve().parents[2]
ARGUMENTS = ["-q", "--no-header", "--tb=no", "-p", "no:xdist", "-p", "no:cacheprovider", "-o", "timeout=0",
             "-W", "ignore::pytest.PytestAssertRewriteWarning"]  # fmt: skip


class Job(NamedTuple):
    """A fault by its number in its file, and what it does."""

    path: str
    number: int
    line: int
    function: str
    what: str

    def code(self) -> CodeType:
        tree = planted((ROOT / self.path).read_text("utf-8"), self.number)
        return compile(tree, str(ROOT / self.path), "exec", dont_inherit=True)


class Few:
    """A pytest plugin: random tests draw few examples, the same each time, and do not shrink what they find."""

    def __init__(self, examples: int) -> None:
        self.examples, self.failed = examples, ""

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        for test in (item.obj for item in items if isinstance(item, pytest.Function)):
            drawn = getattr(test, "_hypothesis_internal_use_settings", None)
            if drawn is not None:
                test._hypothesis_internal_use_settings = settings(
                    drawn, max_examples=min(drawn.max_examples, self.examples), derandomize=True, database=None,
                    deadline=None, phases=[Phase.explicit, Phase.generate], suppress_health_check=list(HealthCheck),
                )  # fmt: skip

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        self.failed = self.failed or (report.nodeid if report.failed else "")


class Trials(Few):
    """Every test once, noting which functions it calls, then each fault in a fork by the tests that call its function.

    What no test calls is left in `unreached`: it may run while modules are imported.
    """

    def __init__(self, jobs: list[Job], examples: int) -> None:
        super().__init__(examples)
        self.jobs, self.unreached = jobs, list[Job]()
        self.found: list[tuple[Job, str]] = []
        self._callers: dict[Place, set[pytest.Item]] = defaultdict(set)
        self._seconds: dict[pytest.Item, float] = {}

    def pytest_runtestloop(self, session: pytest.Session) -> bool:
        for item in session.items:
            self._observe(item)
        functions: dict[Place, list[FunctionType]] = defaultdict(list)
        for each in gc.get_objects():
            if isinstance(each, FunctionType):
                functions[_place(each.__code__)].append(each)
        for job in () if self.failed else self.jobs:
            place = str(ROOT / job.path), job.function
            tests = sorted(self._callers[place], key=lambda item: self._seconds[item])
            if tests and functions[place]:
                seconds = 20 + 5 * sum(self._seconds[item] for item in tests)
                self.found.append(told(job, _in_a_fork(partial(_replaced, job, functions[place], tests), seconds)))
            else:
                self.unreached.append(job)
        return True

    def _observe(self, item: pytest.Item) -> None:
        called: set[CodeType] = set()
        before = time.process_time()
        sys.settrace(lambda frame, *_: called.add(frame.f_code))
        runtestprotocol(item, nextitem=None)
        sys.settrace(None)
        self._seconds[item] = time.process_time() - before
        for code in called:
            self._callers[_place(code)].add(item)


class Planted(Few, importlib.abc.MetaPathFinder, importlib.abc.Loader):
    """Imports one module with its fault, for a process that has not imported it yet."""

    def __init__(self, job: Job, examples: int) -> None:
        super().__init__(examples)
        self.job = job
        sys.meta_path.insert(0, self)

    def find_spec(self, name: str, *_: object) -> importlib.machinery.ModuleSpec | None:
        own = name == self.job.path.removesuffix(".py").replace("/", ".")
        return importlib.util.spec_from_loader(name, self) if own else None

    def exec_module(self, module: ModuleType) -> None:
        exec(self.job.code(), module.__dict__)


def told(job: Job, by: str) -> tuple[Job, str]:
    """Print a fault that nothing found."""
    if not by:
        print(f"NOT FOUND  {job.path}:{job.line}  {job.what}", flush=True)
    return job, by


def anew(job: Job, tests: list[str], examples: int) -> str:
    """What a whole run of the tests, from imports on, finds of a fault."""
    with multiprocessing.get_context("spawn").Pool(1) as pool:
        try:
            return pool.apply_async(_run, (job, tests, examples)).get(timeout=1800)
        except multiprocessing.TimeoutError:
            return "time"


def _run(job: Job, tests: list[str], examples: int) -> str:
    planted = Planted(job, examples)
    with contextlib.redirect_stdout(io.StringIO()):
        code = pytest.main([*ARGUMENTS, "-x", *tests], plugins=[planted])
    return planted.failed or ("imports" if code else "")


def _in_a_fork(trial: Callable[[], str], seconds: float) -> str:
    """What a trial says in a process of its own, which may use so many seconds of the processor."""
    reading, writing = os.pipe()
    sys.stdout.flush()
    child = os.fork()
    if child == 0:
        resource.setrlimit(resource.RLIMIT_CPU, (int(seconds), int(seconds)))
        for stream in (1, 2):
            os.dup2(os.open(os.devnull, os.O_WRONLY), stream)
        try:
            os.write(writing, trial().encode())
        except BaseException as broken:
            os.write(writing, type(broken).__name__.encode())
        os._exit(0)
    os.close(writing)
    _, status = os.waitpid(child, 0)
    with os.fdopen(reading) as said:
        return said.read() or ("time" if status else "")


def _replaced(job: Job, functions: list[FunctionType], tests: list[pytest.Item]) -> str:
    """The first test that fails once the functions have their faulty code and nothing computed before is kept."""
    todo = [job.code()]
    while todo:
        code = todo.pop()
        for function in functions:
            if (code.co_qualname, code.co_firstlineno) == (job.function, function.__code__.co_firstlineno):
                function.__code__ = code
        todo += [part for part in code.co_consts if isinstance(part, CodeType)]
    for each in gc.get_objects():
        if isinstance(each, functools._lru_cache_wrapper):
            each.cache_clear()
    failing = (t for t in tests if any(report.failed for report in runtestprotocol(t, log=False, nextitem=None)))
    return next((test.nodeid for test in failing), "")


def _place(code: CodeType) -> Place:
    return code.co_filename, code.co_qualname

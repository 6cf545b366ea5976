"""Starting a program often: a process imports it once, and every start is a fork of that one.

A fork that is killed dies like any other process; only the seconds of importing are saved.
"""

import os
import shlex
import signal
import subprocess
import sys
from pathlib import Path
from types import TracebackType
from typing import IO, Self

ROOT = Path(__file__).parents[2]


class Nursery:
    """`with Nursery(arguments of tests.kill.program.run, log) as nursery:` starts and ends copies of the program.

    `arguments` may be set anew between two starts.
    """

    def __init__(self, arguments: list[str], log: Path) -> None:
        self.arguments = arguments
        with log.open("ab") as errors:
            self._process = subprocess.Popen(
                [sys.executable, "-m", "tests.kill.nursery"],
                cwd=ROOT,
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=errors,
                text=True,
            )
        self._ask("ready?")

    def __enter__(self) -> Self:
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self._process.communicate(timeout=30)

    def start(self) -> int:
        """Start a copy; its process id."""
        return self._ask(shlex.join(["start", *self.arguments]))

    def end(self, pid: int, by: signal.Signals) -> int:
        """Send a copy a signal and wait until it has ended; its exit code, or minus the signal that killed it."""
        os.kill(pid, by)
        return self._ask(str(pid))

    def _ask(self, line: str) -> int:
        stdin: IO[str] | None = self._process.stdin
        stdout: IO[str] | None = self._process.stdout
        if stdin is None or stdout is None:
            raise RuntimeError("the nursery was started without pipes")
        stdin.write(f"{line}\n")
        stdin.flush()
        answer = stdout.readline()
        if not answer:
            raise RuntimeError("the nursery has ended")
        return int(answer)


def serve() -> None:
    """Fork at each line that asks for it; wait for the process that a line names."""
    from tests.kill.program import run

    for line in sys.stdin:
        match shlex.split(line):
            case ["start", *arguments]:
                answer = os.fork()
                if answer == 0:
                    os.dup2(os.open(os.devnull, os.O_RDWR), 0)
                    os.dup2(0, 1)
                    os._exit(run(*arguments))
            case [pid] if pid.isdigit():
                answer = os.waitstatus_to_exitcode(os.waitpid(int(pid), 0)[1])
            case _:
                answer = 0
        print(answer, flush=True)


if __name__ == "__main__":
    serve()

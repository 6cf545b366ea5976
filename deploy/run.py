"""Run Brimful with nothing but Python: `python3 deploy/run.py try`, `python3 deploy/run.py test`, or any other command.

Makes an environment of its own in `.venv` beside this folder and installs what is locked, by hash. The second time it
only looks whether the locks have changed. `test` runs the tests; every other word goes to the program.
"""

import contextlib
import hashlib
import os
import subprocess
import sys
import venv
from collections.abc import Iterator
from pathlib import Path

OLDEST = (3, 11)
ROOT = Path(__file__).resolve().parent.parent
ENVIRONMENT = ROOT / ".venv"
LOCKS = {"run": ROOT / "deploy" / "locked.txt", "test": ROOT / "deploy" / "locked-test.txt"}
NO_VENV = "Python cannot make an environment here: {why}. On Debian or Ubuntu: apt install python3-venv"
NO_INSTALL = "What Brimful needs could not be installed: see the lines above; mostly it is the network. Then try again."


def main(words: list[str]) -> int:
    """Make the environment ready and run what `words` say in it; returns the exit code."""
    if sys.version_info < OLDEST:
        print(f"Brimful needs Python 3.11 or newer; this is {sys.version.split()[0]}", file=sys.stderr)
        return 1
    testing = words[:1] == ["test"]
    if trouble := make_ready("test" if testing else "run"):
        print(trouble, file=sys.stderr)
        return 1
    command = ["-m", "pytest", "-n", "auto", *words[1:]] if testing else ["-m", "bot", *words]
    if testing:
        os.chdir(ROOT)
    return run(command)


def run(command: list[str]) -> int:
    """Run the environment's Python; where the system can, in place of this process."""
    python = str(python_in(ENVIRONMENT))
    if os.name == "posix":
        sys.stdout.flush()
        os.execv(python, [python, *command])  # noqa: S606 (that is the point)
    try:
        return subprocess.call([python, *command])
    except KeyboardInterrupt:
        return 130


def make_ready(purpose: str) -> str | None:
    """See that the environment holds what is locked; returns what is wrong, None if all is well."""
    if is_ready(purpose):
        return None
    with only_one():
        if is_ready(purpose):
            return None
        print("Making ready: this takes a minute, once.", file=sys.stderr, flush=True)
        if trouble := make_environment():
            return trouble
        for arguments in (
            ["--require-hashes", "--requirement", str(LOCKS[purpose])],
            ["--no-deps", "--no-build-isolation", "--editable", str(ROOT)],
        ):
            if not pip(*arguments):
                return NO_INSTALL
        stamp(purpose).write_text(wanted(purpose), encoding="ascii")
    return None


def is_ready(purpose: str) -> bool:
    """Whether the environment was made from these very locks. One for tests can run the program too."""
    return any(
        stamp(made_for).is_file() and stamp(made_for).read_text(encoding="ascii") == wanted(made_for)
        for made_for in {purpose, "test"}
    )


def stamp(purpose: str) -> Path:
    """Where it is noted what the environment was made from."""
    return ENVIRONMENT / f"made-for-{purpose}"


def wanted(purpose: str) -> str:
    """What the environment has to be made from: the locks, the project file, this place and this Python."""
    digest = hashlib.sha256(f"{ROOT}|{sys.version_info[:2]}".encode())
    for file in (LOCKS[purpose], ROOT / "pyproject.toml"):
        digest.update(file.read_bytes())
    return digest.hexdigest()


def make_environment() -> str | None:
    """Make the environment unless a usable one of this Python is there; returns what is wrong."""
    if python_in(ENVIRONMENT).exists() and works():
        return None
    try:
        venv.create(ENVIRONMENT, clear=True, with_pip=True, symlinks=os.name == "posix")
    except (subprocess.CalledProcessError, ImportError, OSError) as error:
        return NO_VENV.format(why=type(error).__name__)
    return None


def works() -> bool:
    """Whether the environment's Python is of this version and has pip."""
    look = "import sys, pip; sys.exit(sys.version_info[:2] != tuple(map(int, sys.argv[1:])))"
    version = map(str, sys.version_info[:2])
    return subprocess.call([python_in(ENVIRONMENT), "-c", look, *version], stderr=subprocess.DEVNULL) == 0


def pip(*arguments: str) -> bool:
    """Install into the environment; whether that worked. What pip says is shown where it did not."""
    command = [python_in(ENVIRONMENT), "-m", "pip", "install", "--quiet", "--disable-pip-version-check", *arguments]
    done = subprocess.run(command, capture_output=True, text=True, errors="replace", check=False)
    if done.returncode:
        print(done.stdout, done.stderr, sep="", file=sys.stderr)
    return done.returncode == 0


def python_in(environment: Path) -> Path:
    """The Python of an environment."""
    if os.name == "nt":
        return environment / "Scripts" / "python.exe"
    return environment / "bin" / "python"


@contextlib.contextmanager
def only_one() -> Iterator[None]:
    """Wait until nobody else makes this environment ready."""
    with (ROOT / ".making-ready.lock").open("w", encoding="ascii") as file:
        if os.name == "nt":
            import msvcrt

            msvcrt.locking(file.fileno(), msvcrt.LK_LOCK, 1)
        else:
            import fcntl

            fcntl.flock(file, fcntl.LOCK_EX)
        yield


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))

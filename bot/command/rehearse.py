"""`brimful rehearse`: conversations on a virtual clock, from a script, on a store of their own."""

import argparse
import asyncio
import contextlib
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from bot.command.scene import JsonScene, Scene, TranscriptScene
from bot.command.script import (
    Answers,
    At,
    BadLine,
    Blocks,
    Cast,
    History,
    Line,
    Passes,
    Restart,
    Says,
    Sends,
    Taps,
    parse,
)
from bot.command.stage import Stage, new_run
from bot.model.message import Parcel
from bot.store.contract import Contradiction, StoreBroken

FORM = """\
a script, line by line:
  at 2027-03-01T09:00 America/Chicago      the clock and the dealer's zone, first
  cast dealer Ines                         who takes part; also `cast tech Tom`, `cast stranger Zed`
  cast owner Ada volume=1300L sanitizer=chlorine
  cast invited Eve volume=900L             holds an unused invite
  cast group Crew                          a group of the dealer's people, with a topic for each case (topics=no)
  journal Ada 2027-02-20T18:00 reading fc 3 ph 7.6 ta 90
  Ada: hi there                            Ada writes
  Ada [Done]                               taps the newest button of that label
  Ada answer ph 7.8                        answers the open question of that key
  Ada < photo.jpg                          sends a file
  Ada blocks                               and `Ada unblocks`
  Tom@Ada: on my way                       Tom writes in the topic of Ada's case; likewise [Take it], < photo.jpg
  wait 7d                                  time passes (m, h, d, w)
  restart                                  everything in memory is dropped
  # a comment
"""


def main(argv: Sequence[str]) -> int:
    """Play the script; 0 when it is through, 2 where a line is wrong."""
    options = _parser().parse_args(argv)
    try:
        with _lines(options.script) as lines, _database(options.db) as database:
            scene = (lambda _zone: JsonScene()) if options.json else TranscriptScene
            run = new_run() if options.db else ""
            return asyncio.run(play(lines, database, scene, run=run, files=options.files))
    except (OSError, UnicodeDecodeError) as wrong:
        print(
            f"{options.script} cannot be read ({wrong}); give the path of a script, or - for standard input",
            file=sys.stderr,
        )
    except StoreBroken as broken:
        print(broken, file=sys.stderr)
    return 2


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="brimful rehearse",
        description="Run conversations on a virtual clock from a script, and print what happens.",
        epilog=FORM,
        formatter_class=argparse.RawDescriptionHelpFormatter,
    )
    parser.add_argument("script", help="file with the script, or - for standard input, line by line")
    parser.add_argument(
        "--json", action="store_true", help='one JSON object a line: messages, facts and {"ready": true}'
    )
    parser.add_argument("--db", type=Path, help="SQLite file to play on and keep (default: a temporary one)")
    parser.add_argument("--files", type=Path, help="folder for the pictures and files that messages come with")
    return parser


async def play(
    lines: Iterator[str],
    database: Path,
    scene_in: Callable[..., Scene],
    *,
    run: str = "",
    files: Path | None = None,
) -> int:
    """Play the lines of a script on `database`; returns the exit code.

    `scene_in` makes the scene, given the zone that the script names. `run` marks the updates of this rehearsal. What
    messages enclose is written into `files`.
    """
    stage: Stage | None = None
    scene: Scene | None = None
    try:
        for number, text in enumerate(lines, 1):
            try:
                said = parse(text)
                if isinstance(said, At) and stage is None:
                    stage, scene = await _raise_curtain(said, database, scene_in, run, files)
                elif said is not None:
                    await _play_line(stage, scene, said, text.strip())
                elif scene and stage and text.strip():
                    scene.line(text.strip(), stage.clock.now())
            except (BadLine, Contradiction) as wrong:
                sys.stdout.flush()
                print(f"line {number}: {wrong}", file=sys.stderr)
                return 2
            (scene or scene_in(None)).ready()
    finally:
        if stage:
            await stage.close()
    return 0


async def _raise_curtain(
    said: At, database: Path, scene_in: Callable[..., Scene], run: str, files: Path | None
) -> tuple[Stage, Scene]:
    scene = scene_in(said.moment.tzinfo)

    def delivered(parcel: Parcel) -> None:
        scene.message(parcel, stage.clock.now())
        if files and parcel.made:
            files.mkdir(parents=True, exist_ok=True)
            (files / f"{parcel.number:04d}-{parcel.address.chat}-{parcel.made.name}").write_bytes(parcel.made.content)

    stage = Stage(
        database,
        said.moment,
        said.zone,
        lambda entry: scene.entry(entry, stage.name_of(entry)),
        delivered,
        run,
    )
    await stage.raise_curtain()
    return stage, scene


async def _play_line(stage: Stage | None, scene: Scene | None, said: Line, text: str) -> None:
    if stage is None or scene is None:
        raise BadLine("a script begins with its clock and zone, as in `at 2027-03-01T09:00 America/Chicago`")
    scene.line(text, stage.clock.now())
    match said:
        case At():
            raise BadLine("the clock is set once, in the first line; afterwards it only moves, as in `wait 7d`")
        case Cast(part, name, traits):
            await stage.cast(part, name, traits)
        case History(name, when, what):
            await stage.history(name, when, what)
        case Says(name, words):
            await stage.says(name, words)
        case Taps(name, label):
            await stage.taps(name, label)
        case Answers(name, key, value):
            await stage.answers(name, key, value)
        case Sends(name, file, caption):
            await stage.sends(name, file, caption)
        case Blocks(name, blocked):
            await stage.blocks(name, blocked=blocked)
        case Passes(span):
            await stage.passes(span)
        case Restart():
            await stage.restart()


@contextlib.contextmanager
def _lines(script: str) -> Iterator[Iterator[str]]:
    if script == "-":
        yield iter(sys.stdin.readline, "")
        return
    with Path(script).open(encoding="utf-8") as file:
        yield iter(file)


@contextlib.contextmanager
def _database(given: Path | None) -> Iterator[Path]:
    if given:
        yield given
        return
    with tempfile.TemporaryDirectory(prefix="brimful-") as folder:
        yield Path(folder) / "rehearsal.sqlite3"

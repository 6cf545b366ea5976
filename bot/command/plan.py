"""`brimful plan`: the water of one tub in, what to do up to the next reading out."""

from __future__ import annotations

import argparse
import json
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import NoReturn

from bot.command.past import parse_moment, read_history
from bot.command.quantities import parse_readings, parse_temperature, parse_volume
from bot.command.tables import read_kit, read_scale
from bot.command.words import ASKS, BATHING, CAUTIONS, DOUBTS, ESCALATIONS, PLANE, READING_NAMES, WHYS
from bot.run.clock import WallClock
from dosing import DEFAULT_KIT, DEFAULT_SCALE, LOCALES, SUBSTANCES, Plan, Reading, Step, limits_for, plan, plan_json


class _BadInput(Exception):
    """One sentence that says what is wrong and what would be right."""


class _Parser(argparse.ArgumentParser):
    def error(self, message: str) -> NoReturn:
        raise _BadInput(message)


def main(argv: Sequence[str]) -> int:
    """Run the command. Returns 0 for every plan, whatever its status; 2 after one line about bad input."""
    try:
        arguments = _parser().parse_args(list(argv))
        made = _plan(arguments)
    except (_BadInput, ValueError) as wrong:
        print(f"brimful plan: {str(wrong).splitlines()[0]}", file=sys.stderr)
        return 2
    print(json.dumps(plan_json(made), allow_nan=False) if arguments.json else in_words(made))
    return 0 if arguments.picture is None else _drawn(made, arguments)


def _parser() -> argparse.ArgumentParser:
    parser = _Parser(prog="brimful plan", description="What to add to this water, and why.", allow_abbrev=False)
    parser.add_argument("--volume", help="water in the tub: 1300L, 1.3m3, 350usgal or 290impgal")
    parser.add_argument("--sanitizer", choices=("chlorine", "bromine"))
    parser.add_argument("--reading", help="such as 'fc 1, ph 8.2, ta 200'; a value, a range 7.2-7.8, <1 or >10")
    parser.add_argument("--temp", help="water temperature: 38C or 100F")
    parser.add_argument("--kit", type=Path, help="TOML file of the products at hand")
    parser.add_argument("--without", action="append", default=[], help="a product or substance that is not at hand")
    parser.add_argument("--method", choices=("strip", "drops", "meter"), default="strip")
    parser.add_argument("--scale", type=Path, help="TOML file of the strip's colour blocks")
    parser.add_argument("--purpose", choices=("test", "startup", "shock"), default="test")
    parser.add_argument("--locale", choices=tuple(LOCALES), default="default")
    parser.add_argument("--now", help="the moment of the reading in ISO 8601 with its zone; default: the clock")
    parser.add_argument("--history", type=Path, help="JSON lines of readings, additions and refills before this one")
    parser.add_argument("--picture", type=_png, help="PNG file for the plan on the plane of alkalinity and carbon")
    parser.add_argument("--json", action="store_true", help="one JSON object instead of sentences")
    return parser


def _plan(arguments: argparse.Namespace) -> Plan:
    kit = read_kit(arguments.kit) if arguments.kit else DEFAULT_KIT
    scale = read_scale(arguments.scale) if arguments.scale else DEFAULT_SCALE
    now = parse_moment(arguments.now) if arguments.now else WallClock().now()
    without = [name.strip() for given in arguments.without for name in given.split(",") if name.strip()]
    known = {product.key for product in kit.products} | set(SUBSTANCES)
    for name in without:
        if name not in known:
            raise _BadInput(f"--without {name!r} is not in the kit: it holds {', '.join(p.key for p in kit.products)}")
    values = parse_readings(arguments.reading) if arguments.reading is not None else None
    return plan(
        volume=parse_volume(arguments.volume) if arguments.volume is not None else None,
        sanitizer=arguments.sanitizer,
        reading=Reading(values, arguments.method) if values is not None else None,
        kit=kit,
        scale=scale,
        history=read_history(arguments.history, now, kit) if arguments.history else (),
        temperature=parse_temperature(arguments.temp) if arguments.temp is not None else None,
        purpose=arguments.purpose,
        limits=limits_for(arguments.locale),
        without=without,
    )


def _png(text: str) -> Path:
    path = Path(text)
    if path.suffix.lower() != ".png":
        raise argparse.ArgumentTypeError(f"{text!r} is drawn as PNG: give a name that ends in .png")
    if not path.parent.is_dir():
        raise argparse.ArgumentTypeError(f"{text!r} cannot be written: there is no folder {str(path.parent)!r}")
    return path


def _drawn(made: Plan, arguments: argparse.Namespace) -> int:
    """Draw the plan beside what was printed; one sentence where it has no place on the plane."""
    from bot.pictures.plane import PlaneWords, plan_picture  # a second of loading that only a picture is worth

    volume = parse_volume(arguments.volume) if arguments.volume is not None else None
    try:
        steps = {step.key: f"{_name(step.product or step.key)}, {_amount(step)}" for step in made.steps}
        words = PlaneWords(**PLANE, steps=steps)
        picture = plan_picture(made, volume, limits_for(arguments.locale), words)
    except ValueError as nowhere:
        print(f"brimful plan: no picture: {nowhere}", file=sys.stderr)
        return 0
    try:
        arguments.picture.write_bytes(picture)
    except OSError:
        print(f"brimful plan: {arguments.picture} cannot be written: give a file that may be", file=sys.stderr)
        return 2
    return 0


def in_words(made: Plan) -> str:
    """The plan for a person at a terminal."""
    lines = [*_readings(made), *_doubts(made), *_escalation(made), *_asks(made)]
    if made.status == "fine":
        lines.append(("The water is in range: n" if made.bathing.allowed else "N") + "othing needs to go in.")
    if made.status == "withheld":
        lines.append("No dose is given here.")
    for number, step in enumerate(made.steps, 1):
        lines.append(f"{number}. {_step(step)}")
    for rest in made.later:
        visits = "1 visit" if rest.visits == 1 else f"{rest.visits} visits"
        days = "1 day" if rest.days == 1 else f"{rest.days} days"
        amount = f"{rest.grams:g} g of {_name(rest.product)}"
        lines.append(f"Later, by the new readings: about {amount} in {visits} over {days}.")
    lines.append(_bathing(made))
    return "\n".join(lines)


def _amount(step: Step) -> str:
    return f"{step.minutes or 0} min" if step.action == "aerate" else f"{step.grams or 0:g} g"


def _name(key: str) -> str:
    return key.replace("_", " ")


def _readings(made: Plan) -> list[str]:
    out = [
        f"{READING_NAMES[it.key.removeprefix('fill_')]}{' of the fill water' if it.key.startswith('fill_') else ''}"
        f" taken as {it.mid:g} ({it.low:g} to {it.high:g})"
        for it in made.assumed
    ]
    return [f"Not given: {'; '.join(out)}."] if out else []


def _doubts(made: Plan) -> list[str]:
    return [
        f"Doubtful ({READING_NAMES.get(it.reading, it.reading)}): {DOUBTS[it.code].format(**it.numbers)}."
        for it in made.doubts
    ]


def _escalation(made: Plan) -> list[str]:
    return [f"{ESCALATIONS[reason].capitalize()}." for reason in made.escalate.reasons]


def _asks(made: Plan) -> list[str]:
    return [f"Still wanted: {', '.join(ASKS[code] for code in made.asks)}."] if made.asks else []


def _step(step: Step) -> str:
    parts = [f"{_action(step)}: {WHYS[step.why.code].format(**step.why.numbers)}."]
    if step.action == "add":
        parts.append(f"Jets on for {step.minutes} minutes." if step.jets == "on" else "Jets off.")
    if step.wait_minutes:
        parts.append(f"Then wait {step.wait_minutes} minutes.")
    if step.cautions:
        parts.append(f"({'; '.join(CAUTIONS[code] for code in step.cautions)})")
    return " ".join(parts)


def _action(step: Step) -> str:
    if step.action == "add":
        return f"Add {step.grams or 0:g} g of {_name(step.product or '')}{_measure(step)}"
    if step.action == "drain":
        return f"Change {step.litres or 0:g} L of water"
    if step.action == "aerate":
        return f"Run the jets with air for {step.minutes or 0} minutes"
    return "Test again" if step.action == "retest" else "Wait with the cover open"


def _measure(step: Step) -> str:
    return f" ({' or '.join(f'{it.count:g} {it.name}' for it in step.measure)})" if step.measure else ""


def _bathing(made: Plan) -> str:
    if made.bathing.allowed:
        return "Bathing: the readings are in range."
    why = ", ".join(BATHING[code] for code in made.bathing.reasons)
    minutes = made.bathing.from_minutes
    return f"No bathing now: {why}." + (
        f" Earliest in {minutes} minutes, if the new reading agrees." if minutes else ""
    )

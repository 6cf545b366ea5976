"""What a rehearsal shows: JSON lines for programs, a transcript for people."""

import json
import shutil
import sys
import textwrap
from collections.abc import Callable
from datetime import UTC, datetime, tzinfo
from typing import Any, Protocol, TextIO

from pydantic import TypeAdapter

from bot.channels.rehearsal import buttons_of
from bot.model.fact import Corrected, Entry, Fact, PlanIssued, PlanSent, ReadingTaken, ReminderAnswered
from bot.model.message import Parcel
from dosing import plan_json

FACT: TypeAdapter[Fact] = TypeAdapter(Fact)
WhoseIs = Callable[[Entry], tuple[str, str]]


class Scene(Protocol):
    """Shows what happens."""

    def line(self, text: str, now: datetime) -> None:
        """A line of the script is about to be played."""

    def entry(self, entry: Entry, whose: tuple[str, str]) -> None:
        """Something was written into a journal; `whose` it is and who told it."""

    def message(self, parcel: Parcel, now: datetime) -> None:
        """A message arrived."""

    def ready(self) -> None:
        """The line has been played."""


class JsonScene:
    """One JSON object a line, flushed at once."""

    def __init__(self, out: TextIO | None = None) -> None:
        self._out = out or sys.stdout

    def line(self, text: str, now: datetime) -> None:
        """Whoever reads this has written the line."""

    def entry(self, entry: Entry, whose: tuple[str, str]) -> None:
        """Print a fact."""
        of, by = whose
        self._print(
            {"at": entry.at.isoformat(), "fact": entry.fact.kind, "of": of, "told_by": by, **fact_values(entry)}
        )

    def message(self, parcel: Parcel, now: datetime) -> None:
        """Print a message."""
        message = parcel.message
        self._print(
            {
                "at": now.isoformat(),
                "to": parcel.address.chat,
                "lane": message.lane,
                "text": message.text,
                "buttons": [button.label for button in buttons_of(message)],
                "asks": message.asks,
                "dose": message.dose.model_dump() if message.dose else None,
                "wait_minutes": message.wait_minutes,
                "picture": parcel.made is not None and parcel.made.form == "picture",
                "document": _document(parcel),
                **({"topic": message.topic.name} if message.topic else {}),
            }
        )

    def ready(self) -> None:
        """Say that the next line may come."""
        self._print({"ready": True})

    def _print(self, values: dict[str, Any]) -> None:
        print(json.dumps(values, ensure_ascii=False), file=self._out, flush=True)


def _document(parcel: Parcel) -> str | None:
    """The name of the file that came with a message."""
    if parcel.made and parcel.made.form == "document":
        return parcel.made.name
    file = parcel.message.file
    return file.name or file.what if file else None


def fact_values(entry: Entry) -> dict[str, Any]:
    """A fact's own fields as JSON values, readings in the form in which they are written in a script."""
    match entry.fact:
        case ReadingTaken() as reading:
            rest = reading.model_dump(mode="json", exclude={"kind", "values"})
            return {"values": {key: said.text for key, said in reading.values.items()}, **rest}
        case PlanIssued() | PlanSent() as issued:
            rest = issued.model_dump(mode="json", exclude={"kind", "plan"})
            return {**rest, "plan": plan_json(issued.plan)}
        case Corrected(of=corrected, fact=fact):
            stands = {"kind": fact.kind, **fact_values(entry.model_copy(update={"fact": fact}))} if fact else None
            return {"entry": corrected, "stands": stands}
        case fact:
            values: dict[str, Any] = FACT.dump_python(fact, mode="json", exclude={"kind"})
            return {"for" if key == "at" else key: value for key, value in values.items()}


class TranscriptScene:
    """A transcript: who wrote what, when, with the bot's messages to the right of the people's own words."""

    def __init__(self, zone: tzinfo, out: TextIO | None = None) -> None:
        self._zone = zone
        self._out = out or sys.stdout
        self._shown = datetime.min.replace(tzinfo=UTC)
        self._stamp = ""
        self._width = min(shutil.get_terminal_size((88, 24)).columns, 88)

    def line(self, text: str, now: datetime) -> None:
        """Show what a person says or does; the rest of the script shows in what follows."""
        if text.startswith(("at ", "cast ", "journal ")):
            return
        if text.startswith("#"):
            self._print(f"\n{text.lstrip('# ')}")
        elif text == "restart":
            self._print("\n  (everything in memory is dropped and begun again from the store)")
        elif not text.startswith("wait "):
            self._time(now)
            self._print(f"\n{text}")

    def entry(self, entry: Entry, whose: tuple[str, str]) -> None:
        """Show a fact in a few words."""
        if entry.fact.kind in QUIET_KINDS or (isinstance(entry.fact, ReminderAnswered) and entry.fact.answer == "sent"):
            return
        if entry.at > self._shown:
            self._time(entry.at)
        told = (f"{key} {value}".strip() for key, value in _in_short(entry) if value not in (None, "", {}, []))
        kind = entry.fact.kind.replace("_", " ")
        self._wrap(f"written down for {whose[0]}: {kind} {', '.join(told)}".rstrip(), "    · ", "      ")

    def message(self, parcel: Parcel, now: datetime) -> None:
        """Show a message with its buttons."""
        self._time(now)
        lane = "" if parcel.message.lane == "reply" else f" ({parcel.message.lane})"
        lane += " (in the place of an earlier one)" if parcel.edits else ""
        topic = f", {parcel.message.topic.name}" if parcel.message.topic else ""
        self._print(f"\n    to {parcel.address.chat}{topic}{lane}:")
        for paragraph in parcel.message.text.split("\n"):
            self._wrap(paragraph, "    | ", "    | ")
        if file := parcel.message.file:
            self._print(f"    | ({file.what} {file.name}".rstrip() + ")")
        if made := parcel.made:
            self._print(f"    | ({made.form} {made.name})")
        for row in parcel.message.buttons:
            self._print("      " + " ".join(f"[{button.label}]" for button in row))

    def ready(self) -> None:
        """A transcript goes on by itself."""
        self._out.flush()

    def _time(self, moment: datetime) -> None:
        self._shown = moment
        stamp = f"{moment.astimezone(self._zone):%A %d %B %Y, %H:%M}"
        if stamp != self._stamp:
            self._stamp = stamp
            self._print(f"\n{('--- ' + stamp + ' ').ljust(self._width, '-')}")

    def _wrap(self, text: str, first: str, rest: str) -> None:
        lines = textwrap.wrap(text, self._width, initial_indent=first, subsequent_indent=rest) or [first.rstrip()]
        for line in lines:
            self._print(line)

    def _print(self, text: str) -> None:
        print(text, file=self._out)


QUIET_KINDS = frozenset({"told", "warned", "test_wanted", "step", "plan_closed"})
"""What a person who reads along need not see."""


def _in_short(entry: Entry) -> list[tuple[str, Any]]:
    """The fields that a reader wants: values by name, grams rounded, no keys."""
    match entry.fact:
        case ReadingTaken() as reading:
            return [(key, said.text) for key, said in reading.values.items()]
        case PlanIssued(plan=plan) | PlanSent(plan=plan):
            steps = (
                f"{step.product or step.action}{f' {step.grams:.0f} g' if step.grams else ''}" for step in plan.steps
            )
            return [("", "; then ".join(steps) or plan.status)]
        case fact:
            values = FACT.dump_python(fact, mode="json", exclude=set(_KEYS))
            return [("" if key in _NAMELESS else key, _plain(value)) for key, value in values.items()]


_KEYS = frozenset({"kind", "plan_key", "step", "substances", "shock", "case"})
_NAMELESS = ("what", "text", "product", "klass")


def _plain(value: object) -> object:
    if isinstance(value, float):
        return f"{value:.1f}".removesuffix(".0")
    return ", ".join(map(str, value)) if isinstance(value, list) else value

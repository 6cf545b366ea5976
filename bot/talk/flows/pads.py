"""Asking for a test of the water, pad by pad or all at once, until every wanted reading is there or left out."""

from collections.abc import Generator, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from pydantic import JsonValue, TypeAdapter

from bot.model.tub import Method
from bot.talk.flow import Again, Ask, Doing, Heard, Keep, Option, Reads
from bot.talk.measured import can_be, measured, possible, spoken
from bot.talk.names import said_line
from bot.talk.understand import Doubt, number, readings
from bot.talk.understand import Heard as TextHeard
from bot.talk.words import Line, line, verbatim
from dosing import Said, Scale

SANITIZER_KEYS = ("fc", "tc", "br")
SKIPPABLE = ("tc", "ch", "th", "cya", "borate", "tds", "temp")
"""Readings that the plan can do without: not asked for where somebody told several at once."""
SKIP = "skip"
ALL = "all"
CORRECT = "correct"
"""What was told before the first question is all wrong."""


@dataclass(frozen=True, slots=True)
class Pads:
    """What is asked for, in order, and how: the owner's chart, the way of testing, the sanitizer."""

    wanted: Sequence[str]
    scale: Scale
    method: Method
    sanitizer: str


@dataclass(frozen=True, slots=True)
class Unclear:
    """Something told that could be two things: what was written, and its likely meanings."""

    code: str
    key: str
    text: str
    choices: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Several:
    """Several readings in one answer, in machine forms, and what is unclear among them."""

    values: dict[str, str]
    unclear: tuple[Unclear, ...] = ()


SEVERAL = TypeAdapter(Several)
READINGS: TypeAdapter[dict[str, Said]] = TypeAdapter(dict[str, Said])
UNCLEAR: TypeAdapter[tuple[Unclear, ...]] = TypeAdapter(tuple[Unclear, ...])


def told_json(heard: TextHeard) -> dict[str, JsonValue]:
    """What a text says of the water, as the args of a test: `readings`, `unclear` and `method`."""
    unclear = tuple(Unclear(d.code, d.key, d.text, possible(d.key, d.choices)) for d in heard.doubts if d.key)
    values = {key: said for key, said in heard.values.items() if can_be(key, said)}
    return {
        "readings": READINGS.dump_python(values, mode="json"),
        "unclear": UNCLEAR.dump_python(unclear, mode="json"),
        "method": heard.method,
    }


@dataclass(slots=True)
class Taken:
    """What was told so far."""

    values: dict[str, Said] = field(default_factory=dict)
    skipped: set[str] = field(default_factory=set)
    unclear: list[Unclear] = field(default_factory=list)


def ask_pads(
    prefix: str,
    pads: Pads,
    told: Mapping[str, Said] | None = None,
    unclear: Sequence[Unclear] = (),
    head: Line | None = None,
) -> Generator[Doing, Any, tuple[dict[str, Said], Method]]:
    """Ask for every wanted reading that `told` lacks. Returns the readings by key and how they were tested.

    `head` is said with the first question. Answers are machine forms ("7.4", "7.2-7.8", "<1", ">10").
    """
    taken = Taken(measured(told or {}, pads.scale), unclear=list(unclear))
    asked: dict[str, int] = {}
    asked_before = False
    while (ask := _next_ask(prefix, pads, taken, asked)) is not None:
        key = ask.name or ask.key
        if not asked_before and told:
            ask = replace(ask, options=(*ask.options[:-1], Option(CORRECT, line("button.correct"))))
        if head is not None and not asked_before:
            ask = replace(ask, text=line("pads.headed", head=head, question=ask.text))
        asked_before = True
        _take(taken, key, (yield ask))
    method = yield Keep(f"{prefix}method", lambda _: pads.method)
    return taken.values, method


def _next_ask(prefix: str, pads: Pads, taken: Taken, asked: dict[str, int]) -> Ask | None:
    while taken.unclear:
        doubt = taken.unclear.pop(0)
        if doubt.key not in taken.values and doubt.choices:
            return _ask(prefix, pads, asked, doubt.key, _unclear_line(doubt), _choices(doubt.choices))
    on_other_scale = {"br"} if "fc" in taken.values else set()
    there = taken.values.keys() | taken.skipped | on_other_scale
    key = next((key for key in pads.wanted if key not in there), None)
    if key is None:
        return None
    buttons = _pad_buttons(key, pads)
    how = "pads.ask.strip" if pads.method == "strip" and buttons else "pads.ask.number"
    again = key in asked
    text = line("pads.again" if again else how, reading=line(f"reading.{key}"))
    return _ask(prefix, pads, asked, key, text, buttons)


def _ask(
    prefix: str,
    pads: Pads,
    asked: dict[str, int],
    key: str,
    text: Line,
    options: tuple[Option, ...],
) -> Ask:
    asked[key] = asked.get(key, 0) + 1
    name = f"{prefix}{key}" if asked[key] == 1 else f"{prefix}{key}.{asked[key]}"
    more = (Option(SKIP, line("button.skip" if key in SKIPPABLE else "button.dont_know")),)
    options = (*options, *more, Option("/back", line("button.back")))
    return Ask(name, text, options, reader(prefix, key, pads), key, columns=3)


def _pad_buttons(key: str, pads: Pads) -> tuple[Option, ...]:
    if pads.method != "strip":
        return ()
    return tuple(Option(f"{pad:g}", line("pads.value", value=pad)) for pad in pads.scale.pads.get(key, ()))


def _choices(choices: Sequence[float]) -> tuple[Option, ...]:
    return tuple(Option(f"{choice:g}", line("pads.value", value=choice)) for choice in choices)


def _unclear_line(doubt: Unclear) -> Line:
    return line(f"pads.unclear.{doubt.code}", reading=line(f"reading.{doubt.key}"), text=verbatim(doubt.text))


def ask_which(key: str, values: Mapping[str, Said]) -> Generator[Doing, Any, str]:
    """Which reading was told wrong; `ALL` where it was all of them."""
    options = tuple(Option(name, line(f"reading.{name}")) for name in values)
    return str((yield Ask(key, line("round.which_is_wrong"), (*options, Option(ALL, line("round.all_wrong"))))))


def reader(prefix: str, key: str, pads: Pads) -> Reads:
    """Understands an answer to the question for `key`: one number, or several readings at once."""

    def read(text: str) -> Heard | Again | None:
        heard = readings(text, sanitizer="bromine" if pads.sanitizer == "bromine" else "chlorine")
        if heard.values and set(heard.values) != {key}:
            also: dict[str, JsonValue] = {f"{prefix}method": heard.method} if heard.method else {}
            return Heard(_told(heard.values, heard.doubts, pads.scale), also)
        match number(text, key):
            case Doubt() as doubt if possible(key, doubt.choices):
                return Heard(_told({}, [replace(doubt, key=key)], pads.scale))
            case Doubt() as doubt:
                return Again(line(f"pads.again.{doubt.code}", reading=line(f"reading.{key}")))
            case Said() as said if can_be(key, said):
                return Heard(spoken(said, key, pads.scale))
            case Said():
                return Again(line("pads.again.impossible", reading=line(f"reading.{key}")))
            case None:
                return None

    return read


def _told(values: Mapping[str, Said], doubts: Iterable[Doubt], scale: Scale) -> JsonValue:
    return {
        "values": {name: spoken(said, name, scale) for name, said in values.items() if can_be(name, said)},
        "unclear": [
            {"code": doubt.code, "key": doubt.key, "text": doubt.text, "choices": _listed(doubt)}
            for doubt in doubts
            if doubt.key
        ],
    }


def _listed(doubt: Doubt) -> list[JsonValue]:
    return list(possible(doubt.key or "", doubt.choices))


def _take(taken: Taken, key: str, answer: JsonValue) -> None:
    if answer == SKIP:
        taken.skipped.add(key)
    elif answer == CORRECT:
        taken.values.clear()
    elif isinstance(answer, str):
        taken.values[key] = Said.parse(answer)
    else:
        several = SEVERAL.validate_python(answer)
        if len(several.values) > 1:
            taken.skipped.update(SKIPPABLE)
        taken.values.update({name: Said.parse(text) for name, text in several.values.items()})
        taken.unclear.extend(several.unclear)


def understood_line(values: Mapping[str, Said]) -> Line:
    """What was understood, in one line."""
    named = (line("reading.value", name=line(f"reading.{key}"), value=said_line(said)) for key, said in values.items())
    return line("pads.understood", values=tuple(named))

"""What a conversation may do: ask, say, keep, record, change, wait.

A flow is a generator that reads like the conversation it holds. It is never stored: what is stored is its name, what
was known when it began and what it was given so far, by key. To resume, it runs again from the top and is fed what it
was given; so everything that may turn out differently a second time (the clock, the journal, a computed plan) goes
through `Keep`, and every effect carries a key and happens once.
"""

from collections.abc import Callable, Generator, Mapping
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any

from pydantic import JsonValue

from bot.model.dealer import Dealer
from bot.model.enclosure import Enclosure
from bot.model.fact import Entry, Plain
from bot.model.known import Known
from bot.model.message import Dose
from bot.model.person import Person
from bot.model.round import Round, RoundOrder
from bot.model.tub import Tub
from bot.talk.words import Line


@dataclass(frozen=True, slots=True)
class Option:
    """A button: `value` is what the flow receives; `/name` runs a command instead (`/back`)."""

    value: str
    label: Line


@dataclass(frozen=True, slots=True)
class Heard:
    """An answer understood, and answers to later questions that came with it, by question key."""

    value: JsonValue
    also: Mapping[str, JsonValue] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Again:
    """Not an answer yet: say this, then ask again."""

    line: Line


Reads = Callable[[str], Heard | Again | None]
"""What a text means as an answer; None: it is not one."""


@dataclass(frozen=True, slots=True)
class Ask:
    """A question. Receives the answer's value.

    `name` is the public name of the question (`ph`, `did.ph_down`), where the key must tell several rounds apart.
    `fixed`: what this answers cannot be undone by going back (something was poured); it can only be corrected. Answers
    named in `undoable` can be undone all the same (nothing was poured).
    `until`: from then on `late` is said in place of `text`, and no dose is named.
    """

    key: str
    text: Line
    options: tuple[Option, ...] = ()
    reads: Reads | None = None
    name: str | None = None
    dose: Dose | None = None
    wait_minutes: int | None = None
    columns: int = 2
    fixed: bool = False
    undoable: tuple[str, ...] = ()
    until: datetime | None = None
    late: Line | None = None


@dataclass(frozen=True, slots=True)
class Say:
    """Say something; it goes out together with what comes next. With an `enclosure` it is a message of its own, before
    the rest. `offers` are commands (`/name`) to tap, where the conversation ends with it.
    """

    text: Line
    enclosure: Enclosure | None = None
    offers: tuple[Option, ...] = ()


@dataclass(frozen=True, slots=True)
class Live:
    """What is known at this very moment; only `Keep` may look at it."""

    now: datetime
    known: Known
    journal: tuple[Entry, ...]
    """With what this very step has already recorded."""


@dataclass(frozen=True, slots=True)
class Keep:
    """Compute a JSON value once and keep it: a plan, a time. Receives the value, now and whenever it runs again."""

    key: str
    make: Callable[[Live], JsonValue]


@dataclass(frozen=True, slots=True)
class Record:
    """Write a fact into the tub's journal, once. A later run that means another fact corrects the first one.
    Receives the entry's key. A `CaseOpened` also goes to the dealer's people. `tub`: another tub than the person's own
    (that of a case).
    """

    key: str
    fact: Plain
    at: datetime | None = None
    tub: str | None = None


@dataclass(frozen=True, slots=True)
class Withdraw:
    """Take an entry of the journal back, once: it was told by mistake. `entry` is what `Record` gave."""

    key: str
    entry: str


@dataclass(frozen=True, slots=True)
class Change:
    """Change what is known of the tub or of the person, once, and write down who said it."""

    key: str
    tub: Mapping[str, Any] = field(default_factory=dict)
    person: Mapping[str, Any] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Tell:
    """Say something to somebody else (the owner of a case, by a technician), once."""

    key: str
    person: str
    text: Line
    buttons: tuple[tuple[Line, str], ...] = ()


@dataclass(frozen=True, slots=True)
class Wait:
    """Wait that long, by the clock. `early` are buttons that end the wait before its time (the tub is warm already).
    Receives the value of the button that ended it, or None when the time had passed. With `errand` (its kind and args)
    it lasts until that is done, however long it takes.
    """

    key: str
    minutes: float
    text: Line
    early: tuple[Option, ...] = ()
    wait_minutes: int | None = None
    errand: tuple[str, Mapping[str, JsonValue]] | None = None


def errand(key: str, kind: str, args: Mapping[str, JsonValue], text: Line) -> Wait:
    """Have something done that needs a file or everybody in the books, and wait for it. Receives what came of it."""
    return Wait(key, 0.0, text, errand=(kind, args))


@dataclass(frozen=True, slots=True)
class Erase:
    """Forget the person who is talking, and everything that is open with them. Only farewells may follow."""

    key: str


@dataclass(frozen=True, slots=True)
class Leave:
    """Take the person who is talking off the tub, once; the others on it are told."""

    key: str


@dataclass(frozen=True, slots=True)
class WriteRound:
    """Make a round, or change one that has not begun, once. Its `wakes` names a `Wait` of this flow, which ends when it
    has been found whom the round is for.
    """

    key: str
    round: Round


@dataclass(frozen=True, slots=True)
class OrderRound:
    """Start, pause, resume, cancel or discard a round, once."""

    key: str
    round: str
    order: RoundOrder


Doing = Ask | Say | Keep | Record | Withdraw | Change | Tell | Wait | Erase | Leave | WriteRound | OrderRound


@dataclass(frozen=True, slots=True)
class Next:
    """What a flow returns to be followed by another flow, which starts with what is known by then."""

    flow: str
    args: Mapping[str, JsonValue] = field(default_factory=dict)


@dataclass(frozen=True, slots=True)
class Start:
    """What a flow knows when it begins. `tub` and `person` stay as they were, whatever changes meanwhile."""

    dealer: Dealer
    person: Person
    tub: Tub | None
    args: Mapping[str, JsonValue]
    began: datetime


Flow = Generator[Doing, Any, Next | None]
FlowFunction = Callable[[Start], Flow]
FLOWS: dict[str, FlowFunction] = {}


def flow(name: str) -> Callable[[FlowFunction], FlowFunction]:
    """Register a flow under the name that is stored with its answers."""

    def register(function: FlowFunction) -> FlowFunction:
        if name in FLOWS:
            raise ValueError(f"there are two flows named {name!r}")
        FLOWS[name] = function
        return function

    return register

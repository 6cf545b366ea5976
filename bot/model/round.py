"""A round: one message to many owners at once. To whom, in which words, when, and what became of it for each of them.

What becomes of a round is kept in rows of the store, one for each owner, unique by round and person: whatever crashes
or is pressed twice, nobody gets a round twice.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, time
from typing import Literal

from pydantic import Field

from bot.model.fact import Entry
from bot.model.message import Message
from bot.model.person import Person
from bot.model.record import Moment, Record
from bot.model.tub import Sanitizer, Tub

RoundKind = Literal["reminder", "safety", "recall"]
"""A reminder or news; a safety notice, which breaks quiet hours; a safety recall, which also reaches who said stop."""
RoundState = Literal["choosing", "chosen", "running", "paused", "done", "cancelled", "discarded"]
RowState = Literal["waiting", "queued", "delivered", "blocked", "failed", "unclear", "left_out", "cancelled"]
"""unclear: the program ended while it was being sent, so it may have arrived; it is not sent again."""
LeftOut = Literal["stopped", "blocked", "no_chat", "not_agreed", "paused", "recent", "settled"]
"""recent: had another bulk message a few days ago; settled: what it is about was done meanwhile."""
RoundAnswer = Literal["done", "call", "read"]
RoundOrder = Literal["start", "pause", "resume", "cancel", "discard", "report"]
ORDERS: Mapping[RoundOrder, tuple[tuple[RoundState, ...], RoundState]] = {
    "start": (("chosen",), "running"),
    "pause": (("running",), "paused"),
    "resume": (("paused",), "running"),
    "cancel": (("running", "paused"), "cancelled"),
    "discard": (("choosing", "chosen"), "discarded"),
    "report": (("done", "cancelled"), "done"),
}
"""In which states an order is obeyed, and the state that follows."""
OPEN: tuple[RoundState, ...] = ("choosing", "chosen", "running", "paused")


class Whom(Record):
    """Which owners: every criterion that is given must hold. Days are whole days."""

    sanitizer: Sanitizer | None = None
    models: tuple[str, ...] = ()
    delivered_from: date | None = None
    delivered_to: date | None = None
    cartridge_within: int | None = Field(None, ge=0, le=730)
    refill_within: int | None = Field(None, ge=0, le=730)
    untested: int | None = Field(None, ge=1, le=3650)
    """No test for so many days."""
    out_of_range: bool = False
    languages: tuple[str, ...] = ()
    regions: tuple[str, ...] = ()
    """Country codes (DE), IANA zones or their beginnings (America, Europe/Berlin), or the dealer's own regions."""
    tags: tuple[str, ...] = ()
    serials: tuple[str, ...] = ()
    """Serial numbers, or ranges of them with two dots between: H24-100..H24-499."""
    serial_unknown: bool = False
    people: tuple[str, ...] = ()
    """Keys of people or tubs, or serial numbers."""

    @property
    def about(self) -> Literal["cartridge", "refill"] | None:
        """The care task whose due date the message may name."""
        if self.cartridge_within is not None:
            return "cartridge"
        return "refill" if self.refill_within is not None else None

    @property
    def looks_at(self) -> frozenset[str]:
        """The kinds of journal entries that the criteria are decided by."""
        kinds: set[str] = set()
        if self.untested is not None or self.out_of_range:
            kinds |= {"reading"}
        if self.cartridge_within is not None:
            kinds |= {"fill", "refill", "started", "reminder", "cartridge"}
        if self.refill_within is not None:
            kinds |= {"fill", "refill", "started", "reminder", "soak"}
        return frozenset(kinds)


class Timing(Record):
    """When a round leaves: now; at a time of day in each owner's own zone, from `day` on; or spread over `hours`."""

    how: Literal["now", "local", "spread"] = "now"
    day: date | None = None
    clock: time | None = None
    hours: float | None = Field(None, gt=0, le=240)


class Round(Record):
    """What a round is, as the dealer wants it."""

    key: str
    dealer: str
    by: str | None
    """Key of whoever made it; None from the command line."""
    kind: RoundKind = "reminder"
    whom: Whom = Whom()
    per: Literal["person", "tub"] = "person"
    """tub: of those who share a tub, one is written to."""
    texts: dict[str, str] = Field(default_factory=dict)
    """The message by language, with {name}, {tub} and {due} where those are to stand."""
    language: str = "en"
    """Which of the texts is for those whose language has none."""
    timing: Timing = Timing()
    made_at: Moment
    started_at: Moment | None = None
    wakes: str = ""
    """Key of the due row that is brought forward when the choice has been made."""


class RoundRow(Record):
    """What a round came to for one owner."""

    number: int
    person: str
    name: str = ""
    tub: str | None = None
    phone: str = ""
    email: str = ""
    tub_name: str = ""
    language: str = ""
    state: RowState
    why: str = ""
    at: Moment | None = None
    """When it was delivered or refused, or when it may leave."""
    due: date | None = None
    answer: RoundAnswer | None = None
    answered_at: Moment | None = None


class Asked(Record):
    """A round that reached somebody."""

    round: str
    kind: RoundKind
    at: Moment
    about: Literal["cartridge", "refill"] | None = None
    """The care task that it is about."""
    tub: str | None = None
    answer: RoundAnswer | None = None


@dataclass(frozen=True, slots=True)
class RoundView:
    """A round and how far it has come, in numbers."""

    round: Round
    state: RoundState
    counts: Mapping[RowState, int]
    reasons: Mapping[str, int]
    """How many were left out, by reason."""
    answers: Mapping[RoundAnswer, int]
    languages: Mapping[str, int]
    """While it is chosen: how many are to get it, by their language."""
    places: Mapping[tuple[str, time, time], int]
    """While it is chosen: how many, by zone and by start and end of their quiet hours."""
    examples: tuple["Candidate", ...] = ()
    """While it is chosen: a few of those who are to get it."""

    @property
    def total(self) -> int:
        """How many owners were chosen, those left out included."""
        return sum(self.counts.values())

    @property
    def reaches(self) -> int:
        """How many are to get it or got it."""
        return self.total - self.counts.get("left_out", 0) - self.counts.get("cancelled", 0)

    @property
    def left(self) -> int:
        """How many are still to be sent."""
        return self.counts.get("waiting", 0) + self.counts.get("queued", 0)


@dataclass(frozen=True, slots=True)
class Candidate:
    """Somebody whom a round may reach, with one of their tubs and what its journal tells of the criteria."""

    person: Person
    tub: Tub | None
    journal: tuple[Entry, ...] = ()
    """Not yet standing: corrections are still beside what they correct."""
    last_bulk: Moment | None = None
    """When another round was sent to this person, or put on its way."""
    share: float = 0.0
    """Which part of the round stands before this one, 0 to 1."""
    due: date | None = None


@dataclass(frozen=True, slots=True)
class Chosen:
    """Somebody belongs to the round; `why` they are left out, where they are."""

    left_out: LeftOut | None = None
    due: date | None = None


@dataclass(frozen=True, slots=True)
class Put:
    """The message goes to the outbox."""

    message: Message


@dataclass(frozen=True, slots=True)
class Wait:
    """Not before then."""

    until: Moment


@dataclass(frozen=True, slots=True)
class Skip:
    """It is not sent to this person."""

    why: LeftOut


Fate = Put | Wait | Skip
Choose = Callable[[Candidate], Chosen | None]
"""Whether somebody belongs to a round."""
Decide = Callable[[Candidate], Fate]
"""What becomes of the message to somebody whose turn it is."""


@dataclass(frozen=True, slots=True)
class Swept:
    """What a sweep did: how many rows it looked at, and how many messages it put into the outbox."""

    looked: int
    put: int

"""The journal's facts. A tub's history is append-only: what was wrong is corrected by a new entry that points at it."""

from typing import Annotated, Literal

from pydantic import Field, JsonValue

from bot.model.event import File
from bot.model.record import Moment, Record
from bot.model.trail import (
    Acted,
    HouseholdChanged,
    InvitesIssued,
    OwnersBrought,
    RoundAnswered,
    RoundOrdered,
    SupplySaid,
)
from bot.model.tub import Method
from dosing import Plan, Said


class ReadingTaken(Record):
    """A test: what was read beside each pad, drop count or meter, by reading key."""

    kind: Literal["reading"] = "reading"
    values: dict[str, Said]
    method: Method = "strip"
    source: bool = False
    """True for the water that the tub is filled from."""


class PlanIssued(Record):
    """A plan as it was issued, number for number."""

    kind: Literal["plan"] = "plan"
    plan_key: str
    plan: Plan
    reading: str | None = None
    """Key of the reading's entry."""
    by: str | None = None
    """Key of whoever of the dealer's people decided on it; None for a computed one."""


class PlanSent(Record):
    """One of the dealer's people sent the owner of a case a plan, to be issued in the owner's conversation."""

    kind: Literal["plan_sent"] = "plan_sent"
    case: str
    to: str
    """Key of the owner."""
    by: str
    plan_key: str
    plan: Plan
    reading: str | None = None
    """Key of the reading's entry."""
    confirmed: tuple[str, ...] = ()
    """What spoke against it, and was overruled by name (codes of `dosing.OBJECTION_CODES`)."""


class PlanClosed(Record):
    """The end of an issued plan."""

    kind: Literal["plan_closed"] = "plan_closed"
    plan_key: str
    how: Literal["done", "superseded", "abandoned", "withheld"]


class Added(Record):
    """Something went into the water. Pure substances in grams."""

    kind: Literal["addition"] = "addition"
    product: str | None = None
    grams: float | None = Field(None, ge=0)
    substances: dict[str, float] = Field(default_factory=dict)
    plan_key: str | None = None
    step: str | None = None
    shock: bool = False


RETEST = "retest"
"""The step of a plan that is a new test."""


class StepPassed(Record):
    """A step of a plan that was not an addition, or was left out."""

    kind: Literal["step"] = "step"
    plan_key: str
    step: str
    done: bool


class Soaked(Record):
    """People bathed."""

    kind: Literal["soak"] = "soak"
    bathers: int = Field(ge=0, le=30)
    minutes: float = Field(ge=0, le=1440)


class Filled(Record):
    """The tub was filled for the first time, or from empty."""

    kind: Literal["fill"] = "fill"
    litres: float | None = None


class Refilled(Record):
    """Water was changed. `litres` None is the whole tub."""

    kind: Literal["refill"] = "refill"
    litres: float | None = None


class StartedUp(Record):
    """The start-up water was balanced and sanitized: the first week begins."""

    kind: Literal["started"] = "started"


class CartridgeChanged(Record):
    """The water-treatment cartridge was placed or changed."""

    kind: Literal["cartridge"] = "cartridge"


class FilterCared(Record):
    """The filter element was rinsed, soaked in cleaner, or replaced."""

    kind: Literal["filter"] = "filter"
    what: Literal["rinse", "soak", "replace"]


class Noted(Record):
    """Something worth keeping, in the owner's own words."""

    kind: Literal["note"] = "note"
    text: str = Field(max_length=4096)


class CaseOpened(Record):
    """A question went to a technician."""

    kind: Literal["case"] = "case"
    case: str
    klass: Literal["danger", "water", "stuck", "question"]
    reasons: tuple[str, ...]
    text: str = Field("", max_length=4096)


class CaseCleared(Record):
    """Staff (or, for water not fit, a good reading) ended a case."""

    kind: Literal["cleared"] = "cleared"
    case: str
    by: Literal["staff", "reading"]
    reason: str = ""
    note: str = ""


class CaseTaken(Record):
    """One of the dealer's people took a case, perhaps from whoever had it."""

    kind: Literal["taken"] = "taken"
    case: str
    by: str
    """Key of the person."""
    in_group: bool = False
    """Whether in the topic of the dealer's group: what the owner writes then goes there."""


class CaseGivenBack(Record):
    """Nobody has the case any more: whoever had it gave it back, or left."""

    kind: Literal["given_back"] = "given_back"
    case: str
    by: str


class CaseReopened(Record):
    """A closed case is open again: what it was about is back."""

    kind: Literal["reopened"] = "reopened"
    case: str
    entry: str
    """Key of the entry that opened it."""


class CaseSaid(Record):
    """What its owner or the dealer's people said or sent in a case."""

    kind: Literal["case_said"] = "case_said"
    case: str
    side: Literal["owner", "staff"]
    text: str = Field("", max_length=4096)
    files: tuple[File, ...] = ()
    edited: bool = False
    """Whether it changes an earlier message."""
    confirmed: tuple[str, ...] = ()
    """What spoke against a dose that staff named in it, and was overruled (codes of `dosing.OBJECTION_CODES`)."""


class CaseNoted(Record):
    """A note that the dealer's people keep among themselves."""

    kind: Literal["case_note"] = "case_note"
    case: str
    text: str = Field(max_length=4096)


class CaseHelped(Record):
    """What the owner said when asked whether it helped."""

    kind: Literal["case_helped"] = "case_helped"
    case: str


class DosesHeld(Record):
    """The dealer's people want no dose named until they say otherwise or the case is closed."""

    kind: Literal["doses_held"] = "doses_held"
    case: str
    held: bool


ReminderName = Literal[
    "test", "dose", "shock", "rinse", "soak", "refill", "cartridge", "replace", "purge", "cover", "winter"
]
"""What people are reminded of. `replace` is the filter element, `cartridge` that of the water treatment."""


class ReminderAnswered(Record):
    """What the owner said to a reminder, or that it was sent."""

    kind: Literal["reminder"] = "reminder"
    what: ReminderName
    answer: Literal["sent", "done", "later", "not_mine"]
    until: Moment | None = None


class TestWanted(Record):
    """When the water is to be tested next, and why: set by a plan, a start-up or staff."""

    kind: Literal["test_wanted"] = "test_wanted"
    at: Moment
    why: str
    case: str | None = None
    """The case that it was asked for in, where staff did."""


class StripsOpened(Record):
    """A new bottle of test strips is in use: what was known of the old one's bias is over."""

    kind: Literal["strips"] = "strips"


class CardTold(Record):
    """The personal card as it was told: grams of the product after a soak and on days without one."""

    kind: Literal["card"] = "card"
    product: str
    each_soak: float
    each_bather_hour: float
    idle_days: int
    idle: float


class Paused(Record):
    """Nobody bathes and nobody answers until then: a holiday. `until` None ends the pause."""

    kind: Literal["paused"] = "paused"
    until: Moment | None


class Stopped(Record):
    """A person wants no more messages."""

    kind: Literal["stopped"] = "stopped"


class Resumed(Record):
    """A person who had stopped wants messages again."""

    kind: Literal["resumed"] = "resumed"


class Told(Record):
    """What somebody said of the tub or themselves, by field: the new profile values, for the record."""

    kind: Literal["told"] = "told"
    about: Literal["tub", "person"]
    values: dict[str, JsonValue]


class Warned(Record):
    """A caution was shown in full, so that it is short from now on."""

    kind: Literal["warned"] = "warned"
    caution: str


class Corrected(Record):
    """An earlier entry was wrong: `fact` stands in its place, or nothing does."""

    kind: Literal["correction"] = "correction"
    of: str
    fact: "Plain | None" = None


Plain = Annotated[
    ReadingTaken
    | PlanIssued
    | PlanSent
    | PlanClosed
    | Added
    | StepPassed
    | Soaked
    | Filled
    | Refilled
    | StartedUp
    | CartridgeChanged
    | FilterCared
    | Noted
    | CaseOpened
    | CaseCleared
    | CaseTaken
    | CaseGivenBack
    | CaseReopened
    | CaseSaid
    | CaseNoted
    | CaseHelped
    | DosesHeld
    | ReminderAnswered
    | TestWanted
    | StripsOpened
    | CardTold
    | SupplySaid
    | Paused
    | Stopped
    | Resumed
    | RoundAnswered
    | RoundOrdered
    | HouseholdChanged
    | Acted
    | Told
    | OwnersBrought
    | InvitesIssued
    | Warned,
    Field(discriminator="kind"),
]
Fact = Annotated[Plain | Corrected, Field(discriminator="kind")]
Corrected.model_rebuild()


class Entry(Record):
    """One line of a journal: what, of which tub, by whom, when, through what."""

    key: str
    """Unique: made from the update that told it, so that the same update can never write it twice."""
    dealer: str
    tub: str | None
    person: str | None
    at: Moment
    via: str
    fact: Fact

"""What goes out with a message and is made only when it is sent: a drawing or a file, as a value.

A value says everything that is to be seen, in the reader's own words and units; the bytes are made from it when the
message leaves, so that a conversation stays pure and a restart loses nothing.
"""

from datetime import date
from typing import Annotated, Literal

from pydantic import Field

from bot.model.fact import ReminderName
from bot.model.record import Moment, Record
from bot.model.zones import Zone
from dosing import Plan


class PlanDrawing(Record):
    """A plan on the plane of alkalinity and carbon, with what is written on it. `volume` in litres."""

    kind: Literal["plan"] = "plan"
    plan: Plan
    volume: float | None
    locale: str = "default"
    title: str
    alkalinity: str
    carbon: str
    now: str
    target: str
    expected: str
    steps: dict[str, str] = Field(default_factory=dict)
    """What each step adds, by its key."""


class Sheet(Record):
    """A table as a file of text (CSV)."""

    kind: Literal["sheet"] = "sheet"
    name: str
    content: str = Field(repr=False)


class Mark(Record):
    """One reading: what it says at least, most likely and at most. An open end has no number."""

    at: Moment
    low: float | None
    likely: float
    high: float | None


class Panel(Record):
    """The readings of one kind; `fine` is the band that is in range."""

    name: str
    fine: tuple[float, float]
    marks: tuple[Mark, ...]


class Row(Record):
    """What happened again and again: a product that went in, people who bathed."""

    name: str
    at: tuple[Moment, ...]


class Chart(Record):
    """Readings over time above each other, and beneath them what was added and who bathed."""

    kind: Literal["chart"] = "chart"
    title: str
    fine: str
    """What the band is called."""
    panels: tuple[Panel, ...]
    rows: tuple[Row, ...] = ()
    since: Moment
    until: Moment
    language: str
    zone: Zone


Task = ReminderName
"""What a calendar holds; each has a sign of its own, so that none rests on colour."""


class Planned(Record):
    """Something on a day of the calendar, in words; `when` is a moment where it has a time of day."""

    task: Task
    number: int
    """Which of the tasks of that name, from 1: together they name the event for good."""
    day: date
    at: Moment | None
    name: str
    why: str = ""


class CalendarDrawing(Record):
    """The days to come on a sheet, and a list of them beneath."""

    kind: Literal["calendar"] = "calendar"
    title: str
    planned: tuple[Planned, ...]
    today: date
    language: str


class CalendarFile(Record):
    """The same days as an iCalendar file. `tub` names its events for good; `made` orders one file after another.

    Events of `numbers` that are not planned any more are cancelled, so that a newer file leaves nothing behind.
    """

    kind: Literal["calendar_file"] = "calendar_file"
    name: str
    title: str
    tub: str
    planned: tuple[Planned, ...]
    numbers: dict[Task, int]
    """How many events of each task a file ever holds."""
    made: Moment
    zone: Zone
    language: str


class Share(Record):
    """A part of a whole, both counted."""

    name: str
    part: int = Field(ge=0)
    whole: int = Field(ge=0)


class FiguresDrawing(Record):
    """How a house does: shares as bars, and what is no share in words beneath."""

    kind: Literal["figures"] = "figures"
    title: str
    shares: tuple[Share, ...]
    notes: tuple[str, ...] = ()


Enclosure = Annotated[
    PlanDrawing | Sheet | Chart | CalendarDrawing | CalendarFile | FiguresDrawing, Field(discriminator="kind")
]


class Made(Record):
    """An enclosure's bytes: a picture (PNG), or a document under its file name."""

    form: Literal["picture", "document"]
    name: str
    content: bytes = Field(repr=False)

"""What goes out with a message and is made only when it is sent: a drawing or a file, as a value.

A value says everything that is to be seen, in the reader's own words and units; the bytes are made from it when the
message leaves, so that a conversation stays pure and a restart loses nothing.
"""

from typing import Annotated, Literal

from pydantic import Field

from bot.model.record import Record
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


Enclosure = Annotated[PlanDrawing | Sheet, Field(discriminator="kind")]


class Made(Record):
    """An enclosure's bytes: a picture (PNG), or a document under its file name."""

    form: Literal["picture", "document"]
    name: str
    content: bytes = Field(repr=False)

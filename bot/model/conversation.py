"""The state of a conversation: the flows that are open in a chat, and the answers given so far."""

from datetime import datetime, timedelta
from typing import Literal

from pydantic import Field, JsonValue

from bot.model.person import Person
from bot.model.record import Moment, Record
from bot.model.tub import Tub

HOLDS = timedelta(hours=2)
"""How long a tub that was chosen is the one that is meant (common practice)."""


class Given(Record):
    """One thing that an open flow has received: an answer, a value kept, or a wait that ended."""

    key: str
    how: Literal["answer", "kept", "waited"]
    value: JsonValue
    at: Moment


class Done(Record):
    """An effect that has happened: the entry it wrote and the fact as it was written."""

    key: str
    entry: str
    fact: str
    """The fact's JSON, to tell whether a later run of the flow means another one."""


class OpenFlow(Record):
    """A flow under way."""

    flow: str
    serial: int
    began: Moment
    person: Person
    """As known when the flow began."""
    tub: Tub | None
    args: dict[str, JsonValue] = Field(default_factory=dict)
    given: tuple[Given, ...] = ()
    done: tuple[Done, ...] = ()
    waits_for: str | None = None
    """Key of the due row of the timer that the flow is waiting for."""
    unheard: tuple[str, ...] = ()
    """Keys given while the flow was held back: it has not run with them yet."""
    brought_back: int = -1
    """How many things it had been given when its question was last brought back beside something else."""


class Conversation(Record):
    """What is open in one chat; the last flow is on top."""

    flows: tuple[OpenFlow, ...] = ()
    serial: int = 0
    """Grows with every flow begun, so that an old button is known as old."""
    tub: str = ""
    """The tub that was chosen last, by somebody who has several."""
    tub_at: Moment | None = None
    """When it was chosen."""
    case: str = ""
    """The case that one of the dealer's people writes in."""
    guesses: tuple[Moment, ...] = ()
    """When invites were brought lately that nobody knows."""
    version: int = 0
    """Compared when written: of two that write at once, one wins and the other reads again."""

    def meant(self, now: datetime) -> str:
        """The tub that was chosen, as long as that holds."""
        return self.tub if self.tub_at is not None and now - self.tub_at < HOLDS else ""

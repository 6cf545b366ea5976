"""What falls due: rows in an indexed table, never one job each."""

from typing import Literal

from bot.model.record import Moment, Record


class Due(Record):
    """A timer of a conversation, or a reminder to one person about one tub."""

    key: str
    """Unique and stable: setting it again moves it."""
    dealer: str
    kind: Literal["timer", "reminder"]
    what: str
    person: str
    tub: str | None
    at: Moment

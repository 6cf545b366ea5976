"""What falls due: rows in an indexed table, never one job each."""

from typing import Literal

from bot.model.record import Moment, Record


class Due(Record):
    """A timer of a conversation, a reminder to one person about one tub, or a look after a case of that person."""

    key: str
    """Unique and stable: setting it again moves it."""
    dealer: str
    kind: Literal["timer", "reminder", "case"]
    what: str
    person: str
    tub: str | None
    at: Moment

"""What a conversation asks to be done outside of it: something that needs a file, or everybody in the books."""

from pydantic import Field, JsonValue

from bot.model.record import Record


class Errand(Record):
    """One thing to be done for a person, whose conversation waits for what comes of it."""

    key: str
    """Unique: made from the conversation, so that it is asked for once."""
    dealer: str
    person: str
    kind: str
    """Who does it: the name of a job of the clerk's."""
    what: str
    """The key under which the conversation receives the result."""
    args: dict[str, JsonValue] = Field(default_factory=dict)

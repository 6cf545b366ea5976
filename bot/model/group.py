"""A group of the dealer's people, where each case has a topic of its own."""

from typing import Literal

from bot.model.record import Foreign, Record

GROUP_KEY = "group"
"""Key of the group among the dealer's people: a dealer has one."""
Turn = Literal["", "open", "close", "remove"]
Lapse = Literal["", "new", "no_topics", "no_rights", "gone"]


class Topic(Record):
    """The topic that a message to a group belongs in."""

    case: str
    name: Foreign
    """What the topic is called; it stands in front of the message where the group has no topics."""
    turn: Turn = ""
    """The topic is opened again before the message, or closed after it, or removed and the message goes to all."""
    card: bool = False
    """Whether the message shows the whole case, so that a topic may begin with it."""


class Place(Record):
    """Where in a group something was said or done, and by whom."""

    by: str = ""
    """The chat in which whoever did it is reached alone; empty where they did it in the group's name."""
    thread: str = ""
    """The channel's number of the topic; empty outside of topics."""
    case: str = ""
    """The case of the message that was replied to, where that is all that tells."""

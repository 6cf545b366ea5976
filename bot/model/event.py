"""What reaches a conversation, whichever channel it came through."""

from typing import Annotated, Literal

from pydantic import Field, JsonValue

from bot.model.group import Lapse, Place
from bot.model.person import Address
from bot.model.record import Foreign, Moment, Record

FileKind = Literal["photo", "voice", "audio", "video", "document", "sticker", "location", "contact", "other"]


class Wrote(Record):
    """Somebody wrote text; an edit of an earlier message and a forwarded text are marked."""

    kind: Literal["wrote"] = "wrote"
    text: Foreign
    edited: bool = False
    forwarded: bool = False


class Tapped(Record):
    """Somebody tapped a button that carries `data`."""

    kind: Literal["tapped"] = "tapped"
    data: Foreign


class Answered(Record):
    """An answer to the open question named `asks`, in no language: an option's value, or a value's machine form."""

    kind: Literal["answered"] = "answered"
    asks: Foreign
    value: Foreign


class Began(Record):
    """Somebody opened the chat, perhaps with an invite, of which only the digest goes further than the channel."""

    kind: Literal["began"] = "began"
    invite: str | None = None


class File(Record):
    """A file as the channel knows it."""

    what: FileKind
    reference: str
    name: Foreign = ""
    size: int | None = None


class Sent(Record):
    """Somebody sent something that is not text."""

    kind: Literal["sent"] = "sent"
    files: tuple[File, ...]
    caption: Foreign = ""
    album: str = ""
    """What the parts of one album share: they come one by one, and those that wait together are one event."""

    def joined(self, other: "Sent") -> "Sent":
        """This one with what came of the same album after it; the caption is that of the first part that has one."""
        return self.model_copy(update={"files": self.files + other.files, "caption": self.caption or other.caption})


class Blocked(Record):
    """The person blocked the bot or left."""

    kind: Literal["blocked"] = "blocked"


class Unblocked(Record):
    """The person let the bot in again."""

    kind: Literal["unblocked"] = "unblocked"


class GroupNamed(Record):
    """Somebody asks for cases to come to this group."""

    kind: Literal["group_named"] = "group_named"
    title: Foreign
    has_topics: bool
    may_open: bool = True
    """Whether the bot may open topics."""


class GroupMoved(Record):
    """The group goes on as the chat `to`."""

    kind: Literal["group_moved"] = "group_moved"
    to: str
    arrived: bool = False
    """Whether this is said in the new chat, which then knows nothing of what was said before."""


class GroupLapsed(Record):
    """A message to the group did not end where it was meant to."""

    kind: Literal["group_lapsed"] = "group_lapsed"
    what: Lapse
    case: str


class Returned(Record):
    """What came of an errand that a conversation waits for."""

    kind: Literal["returned"] = "returned"
    errand: str
    """Key of the errand."""
    what: str
    result: JsonValue


class Fell(Record):
    """Something fell due: a timer of a conversation or a reminder."""

    kind: Literal["fell"] = "fell"
    due: str
    """Key of what fell due."""
    what: str
    planned: Moment


Event = Annotated[
    Wrote
    | Tapped
    | Answered
    | Began
    | Sent
    | Blocked
    | Unblocked
    | GroupNamed
    | GroupMoved
    | GroupLapsed
    | Fell
    | Returned,
    Field(discriminator="kind"),
]


class Arrival(Record):
    """An event in the inbox. `update` is unique within its channel."""

    dealer: str
    address: Address
    update: str
    at: Moment
    group: Place | None = None
    """Where it came about, if `address` is a group."""
    event: Event | None
    """None: the channel could not read it; `raw` is parked for a person to look at."""
    raw: Foreign = Field("", repr=False)
    name: Foreign = ""
    """What the channel calls the sender."""
    language: str | None = None
    """The language that the sender's app is set to."""
    rests_until: Moment | None = None
    """It is not handled before then, for more of it may come."""

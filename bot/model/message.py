"""What goes out to people."""

from typing import Literal

from pydantic import Field

from bot.model.enclosure import Enclosure, Made
from bot.model.event import File
from bot.model.group import Lapse, Topic
from bot.model.person import Address, Person
from bot.model.record import Moment, Record

Lane = Literal["reply", "alert", "reminder", "bulk"]
LANES: tuple[Lane, ...] = ("reply", "alert", "reminder", "bulk")


class Button(Record):
    """A button: at most 20 or so characters to read, at most 64 bytes of data to come back."""

    label: str
    data: str = Field(max_length=64)


class Dose(Record):
    """The amount that a message names, for tools and tests to read."""

    product: str
    grams: float
    substances: dict[str, float]


class Message(Record):
    """One message to one person, in that person's language, as plain text: a channel escapes and splits it."""

    to: str
    """Key of the person; "" while nobody is known behind the address."""
    lane: Lane = "reply"
    text: str
    file: File | None = None
    """Something that another person sent, as the channel knows it; the text is said with it."""
    enclosure: Enclosure | None = None
    """A drawing or a file that is made when the message leaves; the text is said with it."""
    unmade: str = ""
    """What is said too where it could not be made."""
    buttons: tuple[tuple[Button, ...], ...] = ()
    """Rows of buttons."""
    asks: str | None = None
    dose: Dose | None = None
    instead: str = ""
    """What is said in place of a message with a dose where none may be named any more when it leaves."""
    keeps_quiet: bool = False
    """Whether it waits for the end of its reader's quiet hours, as every reminder does."""
    wait_minutes: int | None = None
    address: Address | None = None
    """Where to send it where that is not the person's own address (a stranger, a group)."""
    topic: Topic | None = None
    """Where in a group it belongs."""
    round: str | None = None
    """Key of the round that it belongs to; somebody gets one message of a round at most."""
    live: str | None = None
    """Name of what it tells the state of: the next message of that name in this chat takes its place."""

    @property
    def is_unasked(self) -> bool:
        """Whether it comes by the calendar, so that quiet hours, holidays and a stop hold for it."""
        return self.lane == "reminder" or self.keeps_quiet


class Parcel(Record):
    """A message in the outbox on its way."""

    number: int
    dealer: str
    address: Address
    message: Message
    at: Moment
    attempts: int = 0
    """How often it was taken up, this time included."""
    doubts: int = 0
    """How many earlier attempts may have arrived."""
    thread: str | None = None
    """The channel's number of the message's topic, where it has been opened."""
    edits: str | None = None
    """The channel's reference of the message whose place it takes."""
    reader: Person | None = None
    """Whom an unasked message is for, as they were when it was taken up."""
    withheld: bool = False
    """Whether its dose may not be named: a danger is open at a tub of its reader."""
    made: Made | None = None
    """The message's enclosure, made for this attempt; None where there is none or it could not be made."""


class Delivered(Record):
    """The channel took it."""

    reference: str = ""
    thread: str | None = None
    """The number of the topic that was opened for it."""
    lapse: Lapse = ""
    """What to know about the group: a topic is new and does not begin with its case; or it went to the whole group,
    for there are no topics, or no right to open them.
    """


RefusalKind = Literal["later", "failed", "unknown", "blocked", "gone", "moved", "broken", "bad"]


class Refusal(Record):
    """Why a channel did not take a message.

    later: not sent, try again (after `seconds` where given; `everyone` where the whole token must pause);
    failed: the service answered that it failed, so most likely not sent; unknown: it may have arrived;
    blocked: the person blocked the bot; gone: the chat is no more;
    moved: the chat is now `chat`; broken: the channel itself does not work (token, network);
    bad: this message can never be sent.
    """

    kind: RefusalKind
    why: str
    seconds: float | None = None
    everyone: bool = False
    chat: str | None = None
    thread: str | None = None
    """The number of the topic that was opened for it all the same."""

"""What is known when an event arrives, and what comes of it."""

from bot.model.conversation import Conversation
from bot.model.dealer import Dealer
from bot.model.due import Due
from bot.model.errand import Errand
from bot.model.fact import Entry
from bot.model.message import Message
from bot.model.person import Address, Invite, Person
from bot.model.record import Record
from bot.model.round import Asked, Round, RoundOrder, RoundView
from bot.model.sought import Found, Seek
from bot.model.tub import Tub


class Case(Record):
    """An open case: the entry that opened it, whose it is, and what the tub went through."""

    entry: Entry
    owner: Person | None
    tub: Tub | None
    household: tuple[Person, ...] = ()
    """Everybody on the tub."""
    of_several: frozenset[str] = frozenset()
    """Those of them who have other tubs too."""
    journal: tuple[Entry, ...] = ()
    """The tub's newest entries, at least those since the case was opened, oldest first."""
    mark: int = 0
    """How far the tub's journal had been written: whoever writes on top of it meanwhile is noticed."""


class Known(Record):
    """All that a step of a conversation may look at."""

    dealer: Dealer
    address: Address
    person: Person | None
    tub: Tub | None
    tubs: tuple[Tub, ...] = ()
    """All of this person's tubs, the one they came to last first."""
    household: tuple[Person, ...] = ()
    """Everybody on the tub, this person included."""
    of_several: frozenset[str] = frozenset()
    """Those of the household who have other tubs too."""
    staff: tuple[Person, ...] = ()
    """The dealer's technicians and dealer people, active ones."""
    group: Person | None = None
    """The group of the dealer's people, if there is one; cases go there while its standing is `active`."""
    case_here: str = ""
    """The case whose topic it came about in."""
    cases: tuple[Case, ...] = ()
    """For staff and their group: every open case of the dealer. For an owner: none (theirs are in the journal)."""
    journal: tuple[Entry, ...] = ()
    """The tub's entries and this person's own, oldest first."""
    mark: int = 0
    """How far the journal had been written when it was read: whoever writes on top of it meanwhile is noticed."""
    dues: tuple[Due, ...] = ()
    """Open due rows of this tub and of this person."""
    rounds: tuple[RoundView, ...] = ()
    """For the dealer: the rounds that are open and the newest that ended, newest first."""
    asked: tuple[Asked, ...] = ()
    """For an owner: the rounds that reached them lately, newest first."""
    conversation: Conversation = Conversation()
    invite: Invite | None = None
    """The invite that the event brought, if it is one of ours (perhaps used or expired)."""
    invited_tub: Tub | None = None
    invited_household: tuple[Person, ...] = ()
    """Everybody on the tub that the invite is for."""
    invited: Person | None = None
    """Whom the invite is for, where they are in the books already."""
    found: Found | None = None
    """What was looked up because this step asked for it."""


class Handing(Record):
    """A tub goes to a new owner: what it went through stays, everybody else leaves it with all that is theirs."""

    tub: str
    person: str
    private: tuple[str, ...] = ()
    """Reasons of cases that are about somebody's health: nothing stays of those."""


class Outcome(Record):
    """Everything that one event changes, committed in one transaction."""

    entries: tuple[Entry, ...] = ()
    people: tuple[Person, ...] = ()
    """New or changed people."""
    tubs: tuple[Tub, ...] = ()
    links: tuple[tuple[str, str], ...] = ()
    """(person, tub): who belongs to which tub from now on."""
    unlinks: tuple[tuple[str, str], ...] = ()
    """(person, tub): who belongs to a tub no more."""
    handing: Handing | None = None
    erase: tuple[str, ...] = ()
    """People of whom everything personal is to be removed."""
    used_invite: tuple[str, str] | None = None
    """(digest, person)."""
    conversation: Conversation | None = None
    """The new state of this chat; None leaves it."""
    messages: tuple[Message, ...] = ()
    seeks: Seek | None = None
    """What the step has to know first: nothing else of this outcome counts."""
    set_dues: tuple[Due, ...] = ()
    cancel_dues: tuple[str, ...] = ()
    rounds: tuple[Round, ...] = ()
    """New rounds, or ones changed before they began."""
    round_orders: tuple[tuple[str, RoundOrder], ...] = ()
    """(round, order); one that its state does not allow changes nothing."""
    errands: tuple[Errand, ...] = ()

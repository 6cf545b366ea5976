"""The contract of a store. Every engine is held to the same abstract test cases.

Times are aware UTC datetimes, kept to the millisecond. Every row belongs to a dealer. Whatever one call changes, it
changes in one transaction. Every call may raise StoreBroken.
"""

from collections.abc import Callable, Collection, Sequence
from datetime import datetime
from typing import NamedTuple, Protocol

from pydantic import JsonValue

from bot.model.dealer import Dealer, Keep
from bot.model.errand import Errand
from bot.model.event import Arrival, Returned
from bot.model.fact import Entry
from bot.model.known import Known, Outcome
from bot.model.message import Delivered, Lane, Message, Parcel, Refusal
from bot.model.person import Address, Invite, Person
from bot.model.round import Candidate, Choose, Decide, Round, RoundOrder, RoundRow, RoundState, RoundView, Swept
from bot.model.sight import Sight
from bot.model.sought import Found, Seek
from bot.model.tub import Tub

POSTGRES = ("postgresql://", "postgres://")
"""How the address of a PostgreSQL database begins; any other place is the path of an SQLite file."""


class Conflict(Exception):
    """What was known has changed meanwhile: read again and decide again. Nothing of the call was done."""


class Lost(Exception):
    """The lease on this arrival has run out and somebody else has it. Nothing of the call was done."""


class Contradiction(Exception):
    """What was to be written contradicts what is stored (nobody has that key, two people at one address).

    Nothing of the call was done.
    """


class StoreBroken(Exception):
    """The store cannot do its work now (locked, full, gone). Nothing of the call was done."""


class Taken(NamedTuple):
    """An arrival that this worker handles now."""

    number: int
    arrival: Arrival
    attempts: int
    """How often handling it has failed before."""
    claims: int
    """How often it was taken, this time included: more than `attempts + 1` where a process died over it."""


class Run(NamedTuple):
    """An errand that somebody runs now."""

    number: int
    errand: Errand
    attempts: int
    """How often it was taken, this time included."""


class Owned(NamedTuple):
    """An owner and their tubs, the one linked last first."""

    person: Person
    tubs: tuple[Tub, ...]


class Stock(NamedTuple):
    """How much of everything there is, for figures."""

    inbox: int
    """Arrivals that wait to be handled."""
    due: int
    """Rows of the due table, those whose time has come among them."""
    overdue: int
    cases: int
    """Open cases."""


class Store(Protocol):
    """Inbox, journal, conversations, due table and outbox."""

    async def open(self) -> None:
        """Open and bring the schema up to date, safely when several do so at once."""

    async def close(self) -> None:
        """Close; what was committed stays."""

    async def take_over(self) -> None:
        """Become the one service that runs on this store, where the engine allows only one: what an earlier run had
        taken is free again at once. Raises StoreBroken if another one is running.
        """

    # -- the inbox

    async def receive(self, arrival: Arrival) -> bool:
        """Keep an arrival durably; False if that (dealer, channel, update) is there already. Returns only after the
        commit. One without an event is parked: it is never taken.

        Where 50 of a chat wait, its next texts are added to the last one; from 500 on, what cannot be added is dropped
        (False).
        """

    async def take(self, now: datetime, lease_seconds: float = 60.0) -> Taken | None:
        """The oldest unhandled arrival whose chat nobody else is handling; leased, so that a crash gives it back."""

    async def known(self, arrival: Arrival, *, tub: str | None = None) -> Known:
        """All that is known around the arrival's address, and one tub of the person: `tub` where it is theirs; the one
        that fell due, or that a good invite lets an owner onto; else the one that is talked about or was chosen last,
        else the one they came to last. In a group the person is whoever spoke there, and each of them has a
        conversation of their own in each topic.
        """

    async def look_up(self, dealer: str, seek: Seek) -> Found:
        """What a step asked for: people whose name holds the words in whatever case, or the entries of cases since then
        with the people and tubs that they name. Nobody who was erased.
        """

    async def settle(
        self, taken: Taken, known: Known, outcome: Outcome, now: datetime, *, dead: str | None = None
    ) -> None:
        """Commit the whole outcome and mark the arrival handled (or dead, with the reason).

        Raises Conflict if the conversation, the journal, that of a case written to, a changed person or the invite is
        no longer as in `known`.
        Entries whose key exists already are not written twice. A person whom the store had marked blocked and who
        writes again is active again.
        """

    async def postpone(self, taken: Taken, until: datetime) -> None:
        """It is not this arrival's turn yet: it may be taken again from then on, as if it had never been taken."""

    async def give_up(self, taken: Taken, why: str, now: datetime, *, final: bool) -> None:
        """Handling failed: free the arrival for another try, or (`final`) park it as dead with the reason."""

    # -- the due table

    async def ripen(self, now: datetime, limit: int = 500) -> int:
        """Move what is due into the inbox as `Fell` arrivals, oldest first; returns how many rows were due. Each
        exactly once; those of people without an address are dropped.
        """

    # -- errands

    async def take_errand(self, now: datetime, lease_seconds: float, elsewhere: Collection[str] = ()) -> Run | None:
        """The oldest errand that nobody runs, of a dealer that is not `elsewhere`, leased."""

    async def finish_errand(self, run: Run, result: Returned, now: datetime) -> None:
        """The errand is done: its result is put into the inbox of whoever asked. Nothing where it was run again
        meanwhile, or they are gone.
        """

    async def retry_errand(self, run: Run) -> None:
        """The errand may be taken again at once."""

    # -- the outbox

    async def next_parcels(
        self,
        channel: str,
        now: datetime,
        limit: int,
        busy: frozenset[Address] = frozenset(),
        lease_seconds: float = 60.0,
        *,
        dealer: str | None = None,
    ) -> list[Parcel]:
        """Parcels of a channel (of one dealer, where given) that may leave now, by lane, then oldest first, each leased
        to the caller.

        At most one a chat and none of the `busy` chats; within a chat by age, except that a reply or an alert may
        overtake reminders and bulk. One that is held back holds back what may not overtake it. A parcel that belongs
        in a topic has its number, where it was opened in that chat.
        """

    async def delivered(self, parcel: Parcel, receipt: Delivered, now: datetime) -> None:
        """The channel took it; a topic that was opened for it is remembered."""

    async def refused(self, parcel: Parcel, refusal: Refusal, now: datetime, *, again_at: datetime | None) -> None:
        """The channel did not take it: to be tried again at `again_at`, or never.

        `blocked` and `gone` also close the address (person's standing `blocked`, nothing more waits for it), `moved`
        moves every row to the new chat, and `everyone` holds back all of the dealer's parcels of this channel until
        `again_at`.
        """

    # -- several services on one store

    async def hold(self, dealer: str, what: str, holder: str, now: datetime, seconds: float) -> bool:
        """Get or keep the lease on `what` of a dealer (whose token one service at a time may use) for so long; False
        while somebody else holds it. Whoever gets it from another finds free what that one had taken to send.
        """

    async def let_go(self, holder: str) -> None:
        """Give back every lease of a holder at once."""

    async def hear(self, ring: Callable[[], None]) -> None:
        """Ring whenever another service may have put something into inbox or outbox. Ends only by being cancelled."""

    # -- looking ahead, for a virtual clock and for figures

    async def next_moment(self, after: datetime | None = None) -> datetime | None:
        """The earliest time (later than `after`, where given) at which a due row ripens or a parcel may leave."""

    async def depths(self) -> dict[Lane, int]:
        """How many parcels wait in each lane."""

    async def stock(self, now: datetime) -> Stock:
        """How much of everything there is."""

    async def forget(self, dealer: str, keep: Keep, now: datetime, limit: int = 200) -> int:
        """Forget some of what a dealer keeps no longer, at most `limit` rows of each kind; returns how many rows went
        or lost their words. 0: there is nothing left to forget.
        """

    async def tidy(self, before: datetime) -> int:
        """Forget rounds made before then that never began, and shrink files; returns how many rows went."""

    # -- rounds

    async def put_round(self, round_: Round) -> None:
        """Add a round, or change one that has not begun; one that is for others than before is chosen anew."""

    async def order_round(self, dealer: str, key: str, order: RoundOrder, now: datetime) -> bool:
        """Start, pause, resume, cancel or discard a round; False where its state does not allow it.

        What waits in the outbox for a round that is paused or cancelled is taken out of it again.
        """

    async def rounds(self, dealer: str) -> list[RoundView]:
        """The newest rounds of a dealer, newest first."""

    async def round_view(self, dealer: str, key: str) -> RoundView | None:
        """How far a round has come; None if there is none of that key."""

    async def rounds_at_work(self) -> list[tuple[Round, RoundState]]:
        """The rounds of all dealers on which there is work to do, oldest first."""

    async def choose_round(self, dealer: str, key: str, now: datetime, limit: int, choose: Choose) -> bool:
        """Look at the next `limit` owners and keep those whom `choose` takes; True once all were looked at, which
        brings forward the due row that waits for it.
        """

    async def sweep_round(self, dealer: str, key: str, now: datetime, limit: int, decide: Decide) -> Swept:
        """Take up to `limit` people whose turn has come in a running round, and do with each what `decide` says, in
        one transaction.
        """

    async def finish_round(self, dealer: str, key: str, messages: Sequence[Message], now: datetime) -> bool:
        """End a round of which nothing is left to be sent and post its report; False where that was done before or
        something is left.
        """

    async def round_rows(self, dealer: str, key: str, *, after: int = 0, limit: int = 1000) -> list[RoundRow]:
        """What a round came to for each owner, in the order in which they were chosen, from a running number on."""

    async def post(self, dealer: str, messages: Sequence[Message], now: datetime) -> None:
        """Put messages into the outbox from outside a conversation; people who cannot be reached get none."""

    # -- the house

    async def put_dealer(self, dealer: Dealer) -> None:
        """Add or change a dealer."""

    async def dealers(self) -> list[Dealer]:
        """Every dealer."""

    async def put(
        self, dealer: str, people: Sequence[Person], tubs: Sequence[Tub], links: Sequence[tuple[str, str]]
    ) -> None:
        """Add or change people, tubs, and who belongs to which tub."""

    async def owners(self, dealer: str, *, after: str = "", limit: int = 1000) -> list[Owned]:
        """Owners in the order of their keys, those behind `after`, erased ones among them."""

    async def sights(self, dealer: str, *, after: str = "", limit: int = 1000) -> list[Sight]:
        """The next `limit` owners behind `after` in the order of their keys, once for each of their tubs (the newest
        link first), once where they have none. Nobody who was erased; none: there are no more.
        """

    async def poured(self, dealer: str, *, after: str = "", limit: int = 1000) -> list[Candidate]:
        """The next `limit` owners behind `after` as `sights` has them, with what each tub's journal tells of products:
        what was poured, start-ups, and what was said of further packs.
        """

    async def bring_in(
        self,
        dealer: str,
        people: Sequence[tuple[Person | None, Person]],
        tubs: Sequence[tuple[Tub | None, Tub]],
        links: Sequence[tuple[str, str]],
        entries: Sequence[Entry],
    ) -> None:
        """Add or change people and tubs, each with what it was when it was read (None: nobody has that key), and write
        the entries. Raises Conflict if one is no longer so.
        """

    async def merge(
        self,
        dealer: str,
        people: tuple[Person, Person, Person] | None,
        tubs: tuple[Tub, Tub, Tub] | None,
        entries: Sequence[Entry],
    ) -> None:
        """Make two people one, and two tubs: who stays and who goes as they were read, and both as one. Whatever names
        the one that goes names the other from then on. Raises Conflict if one has changed since.
        """

    async def put_invite(self, invite: Invite) -> None:
        """Add or change an invite."""

    async def put_invites(self, invites: Sequence[Invite]) -> None:
        """Add or change invites, all in one transaction."""

    async def withdraw_invites(self, dealer: str, digests: Sequence[str], now: datetime) -> int:
        """Let invites that nobody has used expire now; returns how many could be used until now."""

    async def open_invites(self, dealer: str) -> list[Invite]:
        """Invites that nobody has used and that are for somebody in the books, expired ones among them."""

    async def memory(self, dealer: str, name: str) -> JsonValue:
        """What was last remembered under that name; None if nothing was."""

    async def remember(self, dealer: str, name: str, value: JsonValue) -> None:
        """Remember a value under a name: how a sheet was understood, say."""

    async def write(self, entries: Sequence[Entry]) -> None:
        """Append entries to the journal from outside a conversation (an import, a script)."""

    async def journal(
        self, dealer: str, *, after: int = 0, tub: str | None = None, person: str | None = None
    ) -> list[tuple[int, Entry]]:
        """Entries with their running numbers, in the order written."""

    async def person(self, dealer: str, key: str) -> Person | None:
        """The person of that key."""

    async def about(self, dealer: str, key: str) -> dict[str, JsonValue] | None:
        """All that is stored on a person, by table; None if there is nobody of that key."""

    async def erase(self, dealer: str, key: str, now: datetime) -> None:
        """Remove everything personal of a person, from outside a conversation; nobody of that key is nothing to do."""

    async def person_at(self, dealer: str, address: Address) -> Person | None:
        """Who is behind an address."""

"""The contract of a store. Every engine is held to the same abstract test cases.

Times are aware UTC datetimes. Every row belongs to a dealer. Whatever one call changes, it changes in one transaction.
"""

from collections.abc import Sequence
from datetime import datetime
from typing import Protocol

from bot.model.dealer import Dealer
from bot.model.event import Arrival
from bot.model.fact import Entry
from bot.model.known import Known, Outcome
from bot.model.message import Delivered, Lane, Parcel, Refusal
from bot.model.person import Address, Invite, Person
from bot.model.tub import Tub


class Conflict(Exception):
    """Somebody else changed this conversation meanwhile: read again and decide again."""


class StoreBroken(Exception):
    """The store cannot do its work now (locked, full, gone). Nothing of the call was done."""


class Taken(Protocol):
    """An arrival that this worker handles now, with the inbox row it came from."""

    number: int
    arrival: Arrival
    attempts: int


class Store(Protocol):
    """Inbox, journal, conversations, due table and outbox."""

    async def open(self) -> None:
        """Open and bring the schema up to date, safely when several do so at once."""

    async def close(self) -> None:
        """Close; what was committed stays."""

    # -- the inbox

    async def receive(self, arrival: Arrival) -> bool:
        """Keep an arrival durably; False if that (channel, update) is there already. Returns only after the commit."""

    async def take(self, now: datetime, lease_seconds: float = 60.0) -> Taken | None:
        """The oldest unhandled arrival whose chat nobody else is handling; leased, so that a crash gives it back."""

    async def known(self, arrival: Arrival) -> Known:
        """All that is known around the arrival's address. `Fell` arrivals are addressed to their person."""

    async def settle(self, taken: Taken, outcome: Outcome, now: datetime) -> None:
        """Commit the whole outcome and mark the arrival handled. Raises Conflict and changes nothing if the
        conversation's version has moved. Entries whose key exists already are not written twice."""

    async def give_up(self, taken: Taken, why: str, now: datetime, *, final: bool) -> None:
        """Handling failed: free the arrival for another try, or (`final`) park it as dead with the reason."""

    # -- the due table

    async def ripen(self, now: datetime, limit: int = 500) -> int:
        """Move what is due into the inbox as `Fell` arrivals, oldest first; returns how many. Each exactly once."""

    # -- the outbox

    async def next_parcels(self, now: datetime, limit: int, busy: frozenset[Address] = frozenset()) -> list[Parcel]:
        """Parcels that may leave now, by lane, then oldest first; at most one a chat (its oldest of all lanes that is
        not held back by a later time), none of the `busy` chats. Each is leased to the caller."""

    async def delivered(self, parcel: Parcel, receipt: Delivered, now: datetime) -> None:
        """The channel took it."""

    async def refused(self, parcel: Parcel, refusal: Refusal, now: datetime, *, again_at: datetime | None) -> None:
        """The channel did not take it: to be tried again at `again_at`, or never. `blocked` and `gone` also close
        the address (person's standing `blocked`), `moved` moves every row to the new chat."""

    # -- looking ahead, for a virtual clock and for figures

    async def next_moment(self) -> datetime | None:
        """The earliest time at which a due row ripens or a held-back parcel may leave; None if there is none."""

    async def depths(self) -> dict[Lane, int]:
        """How many parcels wait in each lane."""

    # -- the house

    async def put_dealer(self, dealer: Dealer) -> None:
        """Add or change a dealer."""

    async def dealers(self) -> list[Dealer]:
        """Every dealer."""

    async def put(self, dealer: str, people: Sequence[Person], tubs: Sequence[Tub], links: Sequence[tuple[str, str]]) -> None:
        """Add or change people, tubs, and who belongs to which tub."""

    async def put_invite(self, invite: Invite) -> None:
        """Add or change an invite."""

    async def write(self, entries: Sequence[Entry]) -> None:
        """Append entries to the journal from outside a conversation (an import, a script)."""

    async def journal(self, dealer: str, *, after: int = 0, tub: str | None = None, person: str | None = None) -> list[tuple[int, Entry]]:
        """Entries with their running numbers, oldest first."""

    async def person_at(self, dealer: str, address: Address) -> Person | None:
        """Who is behind an address."""

"""The store contract on any engine that speaks SQL: every call is one unit of work."""

from collections.abc import Callable, Collection, Sequence
from contextlib import AbstractContextManager
from datetime import datetime, timedelta
from typing import Protocol, TypeVar

from pydantic import JsonValue

from bot.model.dealer import Dealer, Keep
from bot.model.event import Arrival, Returned
from bot.model.fact import Entry
from bot.model.known import Known, Outcome
from bot.model.message import Delivered, Lane, Message, Parcel, Refusal
from bot.model.person import Address, Invite, Person
from bot.model.round import Candidate, Choose, Decide, Round, RoundOrder, RoundRow, RoundState, RoundView, Swept
from bot.model.sight import Sight
from bot.model.sought import Found, Seek
from bot.model.tub import Tub
from bot.store.contract import Owned, Run, Stock, Taken
from bot.store.sql import (
    about,
    candidates,
    dues,
    erasure,
    errands,
    house,
    inbox,
    journal,
    keeping,
    known,
    leases,
    merging,
    outbox,
    round_rows,
    rounds,
    settle,
    sights,
    sought,
)
from bot.store.sql.records import from_ms, to_ms
from bot.store.sql.unit import Unit

T = TypeVar("T")

_TIDY_AT_ONCE = 1000
_STOCK = """
SELECT (SELECT count(*) FROM inbox WHERE state = 'waiting') AS inbox, (SELECT count(*) FROM dues) AS due,
       (SELECT count(*) FROM dues WHERE at <= :now) AS overdue, (SELECT count(*) FROM open_cases) AS cases
"""
# A group has a conversation for each topic and each of its people, whose names begin with the group's.
_MOVE_CONVERSATION = """
UPDATE conversations SET chat = CAST(:new AS TEXT) || substr(chat, length(CAST(:chat AS TEXT)) + 1)
WHERE dealer = :dealer AND channel = :channel AND (chat = :chat OR chat LIKE CAST(:chat AS TEXT) || '/%')
  AND NOT EXISTS (
    SELECT 1 FROM conversations AS there
    WHERE there.dealer = :dealer AND there.channel = :channel
      AND there.chat = CAST(:new AS TEXT) || substr(conversations.chat, length(CAST(:chat AS TEXT)) + 1))
"""


class Units(Protocol):
    """Runs units of work on an engine, and turns its errors into those of the contract."""

    async def write(self, work: Callable[[Unit], T], *, durable: bool = True) -> T:
        """Run `work` in one transaction. One that need not survive a power cut is not synced at once."""

    async def read(self, work: Callable[[Unit], T]) -> T:
        """Run `work` on one unchanging view of the database."""

    def unit(self, *, writes: bool) -> AbstractContextManager[Unit]:
        """A transaction for a tool that has the database to itself."""


class SqlStore:
    """The calls of the contract that are the same on every engine."""

    def __init__(self, units: Units) -> None:
        self.units = units

    async def _free_all(self) -> None:
        """Free what an earlier run had taken."""

        def work(db: Unit) -> None:
            db.execute(inbox.FREE_ALL)
            db.execute(outbox.FREE_ALL)
            db.execute(leases.FREE_ALL)
            db.execute(errands.FREE_ALL)

        await self.units.write(work)

    async def receive(self, arrival: Arrival) -> bool:
        """Keep an arrival durably; False if it is there already."""
        return await self.units.write(lambda db: inbox.receive(db, arrival))

    async def take(self, now: datetime, lease_seconds: float = 60.0) -> Taken | None:
        """The oldest unhandled arrival whose chat nobody else is handling.

        A lease lost in a power cut is a lease that ended, so it is not synced.
        """
        until = to_ms(now + timedelta(seconds=lease_seconds))
        return await self.units.write(lambda db: inbox.take(db, to_ms(now), until), durable=False)

    async def known(self, arrival: Arrival, *, tub: str | None = None) -> Known:
        """All that is known around the arrival's address, and one tub of the person."""
        return await self.units.read(lambda db: known.gather(db, arrival, tub))

    async def look_up(self, dealer: str, seek: Seek) -> Found:
        """What a step asked for."""
        return await self.units.read(lambda db: sought.look_up(db, dealer, seek))

    async def settle(
        self, taken: Taken, known: Known, outcome: Outcome, now: datetime, *, dead: str | None = None
    ) -> None:
        """Commit the whole outcome and mark the arrival handled, or dead."""
        await self.units.write(lambda db: settle.settle(db, taken, known, outcome, to_ms(now), dead))

    async def postpone(self, taken: Taken, until: datetime) -> None:
        """It may be taken again from then on."""
        await self.units.write(lambda db: inbox.postpone(db, taken, to_ms(until)), durable=False)

    async def give_up(self, taken: Taken, why: str, now: datetime, *, final: bool) -> None:
        """Free the arrival for another try, or park it as dead."""

        def work(db: Unit) -> None:
            if final:
                inbox.finish(db, taken, to_ms(now), "dead", why)
            else:
                inbox.try_again(db, taken, why)

        await self.units.write(work)

    async def ripen(self, now: datetime, limit: int = 500) -> int:
        """Move what is due into the inbox."""
        return await self.units.write(lambda db: dues.ripen(db, to_ms(now), limit))

    async def take_errand(self, now: datetime, lease_seconds: float, elsewhere: Collection[str] = ()) -> Run | None:
        """The oldest errand that nobody runs, leased."""
        until = to_ms(now + timedelta(seconds=lease_seconds))
        return await self.units.write(lambda db: errands.take(db, to_ms(now), until, elsewhere), durable=False)

    async def finish_errand(self, run: Run, result: Returned, now: datetime) -> None:
        """Put the errand's result into the inbox of whoever asked."""
        await self.units.write(lambda db: errands.finish(db, run, result, to_ms(now)))

    async def retry_errand(self, run: Run) -> None:
        """The errand may be taken again at once."""
        await self.units.write(lambda db: errands.try_again(db, run))

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
        """Parcels of a channel that may leave now, leased."""
        until = to_ms(now + timedelta(seconds=lease_seconds))
        return await self.units.write(
            lambda db: outbox.next_parcels(db, channel, to_ms(now), until, limit, busy, dealer)
        )

    async def delivered(self, parcel: Parcel, receipt: Delivered, now: datetime) -> None:
        """The channel took it. Lost in a power cut, it is an attempt that may have arrived."""
        await self.units.write(lambda db: outbox.delivered(db, parcel, receipt, to_ms(now)), durable=False)

    async def refused(self, parcel: Parcel, refusal: Refusal, now: datetime, *, again_at: datetime | None) -> None:
        """The channel did not take it."""

        def work(db: Unit) -> None:
            _lock_chats(db, parcel, refusal)
            outbox.refused(db, parcel, refusal, to_ms(now), None if again_at is None else to_ms(again_at))
            if refusal.kind == "moved" and refusal.chat is not None:
                self._move(db, parcel, refusal.chat)

        await self.units.write(work)

    @staticmethod
    def _move(db: Unit, parcel: Parcel, new: str) -> None:
        channel, chat = parcel.address.channel, parcel.address.chat
        outbox.move(db, parcel.dealer, channel, chat, new)
        inbox.move(db, parcel.dealer, channel, chat, new)
        for sql in (house.MOVE, _MOVE_CONVERSATION):
            db.execute(sql, {"dealer": parcel.dealer, "channel": channel, "chat": chat, "new": new})

    async def hold(self, dealer: str, what: str, holder: str, now: datetime, seconds: float) -> bool:
        """Get or keep the lease on what one service at a time may use."""
        until = to_ms(now + timedelta(seconds=seconds))
        return await self.units.write(
            lambda db: leases.hold(db, dealer, what, holder, to_ms(now), until), durable=False
        )

    async def let_go(self, holder: str) -> None:
        """Give back every lease of a holder at once."""
        await self.units.write(lambda db: leases.let_go(db, holder))

    async def next_moment(self, after: datetime | None = None) -> datetime | None:
        """The earliest time at which something ripens or may leave."""
        later_than = -1 if after is None else to_ms(after)
        moment = await self.units.read(lambda db: dues.next_moment(db, later_than))
        return None if moment is None else from_ms(moment)

    async def depths(self) -> dict[Lane, int]:
        """How many parcels wait in each lane."""
        return await self.units.read(outbox.depths)

    async def stock(self, now: datetime) -> Stock:
        """How much of everything there is."""
        return await self.units.read(lambda db: _stock(db, to_ms(now)))

    async def forget(self, dealer: str, keep: Keep, now: datetime, limit: int = 200) -> int:
        """Forget some of what a dealer keeps no longer."""
        return await self.units.write(lambda db: keeping.forget(db, dealer, keep, now, limit))

    async def tidy(self, before: datetime) -> int:
        """Forget rounds that never began, a little at a time."""
        gone = 0
        for sql in (rounds.FORGET_ROWS, rounds.DISCARD_OLD):
            while forgotten := await self._forget(sql, to_ms(before)):
                gone += forgotten
        return gone

    async def _forget(self, sql: str, before: int) -> int:
        values = {"before": before, "limit": _TIDY_AT_ONCE}
        return await self.units.write(lambda db: db.execute(sql, values).rowcount)

    async def put_round(self, round_: Round) -> None:
        """Add a round, or change one that has not begun."""
        await self.units.write(lambda db: rounds.put(db, round_))

    async def order_round(self, dealer: str, key: str, order: RoundOrder, now: datetime) -> bool:
        """Start, pause, resume, cancel or discard a round; False where its state does not allow it."""
        return await self.units.write(lambda db: rounds.order(db, dealer, key, order, to_ms(now)))

    async def rounds(self, dealer: str) -> list[RoundView]:
        """The newest rounds of a dealer, newest first."""
        return await self.units.read(lambda db: rounds.of_dealer(db, dealer))

    async def round_view(self, dealer: str, key: str) -> RoundView | None:
        """How far a round has come."""
        return await self.units.read(lambda db: rounds.view(db, dealer, key))

    async def rounds_at_work(self) -> list[tuple[Round, RoundState]]:
        """The rounds of all dealers on which there is work to do, oldest first."""
        return await self.units.read(rounds.at_work)

    async def choose_round(self, dealer: str, key: str, now: datetime, limit: int, choose: Choose) -> bool:
        """Look at the next owners and keep those whom `choose` takes; True once all were looked at."""
        return await self.units.write(lambda db: round_rows.choose(db, dealer, key, to_ms(now), limit, choose))

    async def sweep_round(self, dealer: str, key: str, now: datetime, limit: int, decide: Decide) -> Swept:
        """Do with each of the next people whose turn has come what `decide` says."""
        return await self.units.write(lambda db: round_rows.sweep(db, dealer, key, to_ms(now), limit, decide))

    async def finish_round(self, dealer: str, key: str, messages: Sequence[Message], now: datetime) -> bool:
        """End a round of which nothing is left to be sent and post its report, once."""
        return await self.units.write(lambda db: rounds.finish(db, dealer, key, messages, to_ms(now)))

    async def round_rows(self, dealer: str, key: str, *, after: int = 0, limit: int = 1000) -> list[RoundRow]:
        """What a round came to for each owner, in the order in which they were chosen."""
        return await self.units.read(lambda db: rounds.rows_of(db, dealer, key, after, limit))

    async def post(self, dealer: str, messages: Sequence[Message], now: datetime) -> None:
        """Put messages into the outbox from outside a conversation."""
        await self.units.write(lambda db: rounds.post(db, dealer, messages, to_ms(now)))

    async def person(self, dealer: str, key: str) -> Person | None:
        """The person of that key."""
        return await self.units.read(lambda db: house.person_named(db, dealer, key))

    async def put_dealer(self, dealer: Dealer) -> None:
        """Add or change a dealer."""
        await self.units.write(lambda db: house.put_dealer(db, dealer))

    async def dealers(self) -> list[Dealer]:
        """Every dealer."""
        return await self.units.read(house.dealers)

    async def put(
        self, dealer: str, people: Sequence[Person], tubs: Sequence[Tub], links: Sequence[tuple[str, str]]
    ) -> None:
        """Add or change people, tubs and links."""
        await self.units.write(lambda db: house.put(db, dealer, people, tubs, links))

    async def owners(self, dealer: str, *, after: str = "", limit: int = 1000) -> list[Owned]:
        """Owners in the order of their keys, with their tubs."""
        return await self.units.read(lambda db: house.owners(db, dealer, after, limit))

    async def sights(self, dealer: str, *, after: str = "", limit: int = 1000) -> list[Sight]:
        """The next owners as the desk looks at many."""
        return await self.units.read(lambda db: sights.page(db, dealer, after, limit))

    async def poured(self, dealer: str, *, after: str = "", limit: int = 1000) -> list[Candidate]:
        """The next owners with what was poured into their tubs."""
        return await self.units.read(lambda db: candidates.poured(db, dealer, after, limit))

    async def bring_in(
        self,
        dealer: str,
        people: Sequence[tuple[Person | None, Person]],
        tubs: Sequence[tuple[Tub | None, Tub]],
        links: Sequence[tuple[str, str]],
        entries: Sequence[Entry],
    ) -> None:
        """Add or change people and tubs that are still as they were read, and write the entries."""

        def work(db: Unit) -> None:
            house.bring_in(db, dealer, people, tubs, links)
            journal.append(db, entries)

        await self.units.write(work)

    async def merge(
        self,
        dealer: str,
        people: tuple[Person, Person, Person] | None,
        tubs: tuple[Tub, Tub, Tub] | None,
        entries: Sequence[Entry],
    ) -> None:
        """Make two people one, and two tubs, and write the entries."""

        def work(db: Unit) -> None:
            if people is not None:
                merging.merge_people(db, dealer, *people)
            if tubs is not None:
                merging.merge_tubs(db, dealer, *tubs)
            journal.append(db, entries)

        await self.units.write(work)

    async def put_invite(self, invite: Invite) -> None:
        """Add or change an invite."""
        await self.units.write(lambda db: house.put_invite(db, invite))

    async def put_invites(self, invites: Sequence[Invite]) -> None:
        """Add or change invites."""

        def work(db: Unit) -> None:
            for invite in invites:
                house.put_invite(db, invite)

        await self.units.write(work)

    async def withdraw_invites(self, dealer: str, digests: Sequence[str], now: datetime) -> int:
        """Let unused invites expire; returns how many could be used until now."""
        return await self.units.write(lambda db: house.withdraw_invites(db, dealer, digests, to_ms(now)))

    async def open_invites(self, dealer: str) -> list[Invite]:
        """Invites for people in the books that nobody has used."""
        return await self.units.read(lambda db: house.open_invites(db, dealer))

    async def memory(self, dealer: str, name: str) -> JsonValue:
        """What was last remembered under that name."""
        return await self.units.read(lambda db: house.memory(db, dealer, name))

    async def remember(self, dealer: str, name: str, value: JsonValue) -> None:
        """Remember a value under a name."""
        await self.units.write(lambda db: house.remember(db, dealer, name, value))

    async def write(self, entries: Sequence[Entry]) -> None:
        """Append entries to the journal."""
        await self.units.write(lambda db: journal.append(db, entries))

    async def journal(
        self, dealer: str, *, after: int = 0, tub: str | None = None, person: str | None = None
    ) -> list[tuple[int, Entry]]:
        """Entries with their running numbers, in the order written."""
        return await self.units.read(lambda db: journal.numbered(db, dealer, after, tub, person))

    async def about(self, dealer: str, key: str) -> dict[str, JsonValue] | None:
        """All that is stored on a person, by table."""
        return await self.units.read(lambda db: about.about(db, dealer, key))

    async def erase(self, dealer: str, key: str, now: datetime) -> None:
        """Remove everything personal of a person."""
        await self.units.write(lambda db: erasure.erase(db, dealer, key, to_ms(now)))

    async def person_at(self, dealer: str, address: Address) -> Person | None:
        """Who is behind an address."""
        return await self.units.read(lambda db: house.person_at(db, dealer, address))


def _stock(db: Unit, now: int) -> Stock:
    row = db.execute(_STOCK, {"now": now}).fetchall()[0]
    return Stock(*(row[name] for name in Stock._fields))


def _lock_chats(db: Unit, parcel: Parcel, refusal: Refusal) -> None:
    """Whatever follows for the chat of a refused parcel happens while nobody else is at work on it."""
    channel = parcel.address.channel
    chats: list[tuple[str, str, str | None]] = [(parcel.dealer, channel, parcel.address.chat)]
    if refusal.kind == "moved":
        chats.append((parcel.dealer, channel, refusal.chat))
        db.lock("inbox", chats)
    db.lock("outbox", chats)

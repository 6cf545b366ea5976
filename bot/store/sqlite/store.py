"""The SQLite store: every call is one unit of work on one file."""

from collections.abc import Sequence
from datetime import datetime, timedelta
from pathlib import Path

from sqlite_utils import Database

from bot.model.dealer import Dealer
from bot.model.event import Arrival
from bot.model.fact import Entry
from bot.model.known import Known, Outcome
from bot.model.message import Delivered, Lane, Parcel, Refusal
from bot.model.person import Address, Invite, Person
from bot.model.tub import Tub
from bot.store.contract import Taken
from bot.store.sqlite import dues, house, inbox, journal, known, outbox, settle
from bot.store.sqlite.database import Claim, File
from bot.store.sqlite.records import from_ms, to_ms

_TIDY_AT_ONCE = 1000
_MOVE_CONVERSATION = """
UPDATE OR IGNORE conversations SET chat = :new || substr(chat, length(:chat) + 1)
WHERE dealer = :dealer AND channel = :channel AND (chat = :chat OR chat LIKE :chat || '/%')
"""


class SqliteStore:
    """The store contract on one SQLite file, for one service; other programs may read and write beside it.

    `patience` is how many seconds a lock held by another program is waited for.
    """

    def __init__(self, path: Path | str, *, patience: float = 5.0) -> None:
        self._file = File(Path(path), patience)
        self._claim = Claim(Path(path))

    async def open(self) -> None:
        """Open and bring the schema up to date, safely when several do so at once."""
        await self._file.open()

    async def close(self) -> None:
        """Close; what was committed stays."""
        self._file.close()
        self._claim.give_back()

    async def take_over(self) -> None:
        """Become the one service on this file; what an earlier run had taken is free again at once."""
        self._claim.take()

        def work(db: Database) -> None:
            db.execute(inbox.FREE_ALL)
            db.execute(outbox.FREE_ALL)

        await self._file.write(work)

    async def receive(self, arrival: Arrival) -> bool:
        """Keep an arrival durably; False if it is there already."""
        return await self._file.write(lambda db: inbox.receive(db, arrival))

    async def take(self, now: datetime, lease_seconds: float = 60.0) -> Taken | None:
        """The oldest unhandled arrival whose chat nobody else is handling.

        A lease lost in a power cut is a lease that ended, so it is not synced.
        """
        until = to_ms(now + timedelta(seconds=lease_seconds))
        return await self._file.write(lambda db: inbox.take(db, to_ms(now), until), durable=False)

    async def known(self, arrival: Arrival) -> Known:
        """All that is known around the arrival's address."""
        return await self._file.read(lambda db: known.gather(db, arrival))

    async def settle(
        self, taken: Taken, known: Known, outcome: Outcome, now: datetime, *, dead: str | None = None
    ) -> None:
        """Commit the whole outcome and mark the arrival handled, or dead."""
        await self._file.write(lambda db: settle.settle(db, taken, known, outcome, to_ms(now), dead))

    async def give_up(self, taken: Taken, why: str, now: datetime, *, final: bool) -> None:
        """Free the arrival for another try, or park it as dead."""

        def work(db: Database) -> None:
            if final:
                inbox.finish(db, taken, to_ms(now), "dead", why)
            else:
                inbox.try_again(db, taken, why)

        await self._file.write(work)

    async def ripen(self, now: datetime, limit: int = 500) -> int:
        """Move what is due into the inbox."""
        return await self._file.write(lambda db: dues.ripen(db, to_ms(now), limit))

    async def next_parcels(
        self,
        channel: str,
        now: datetime,
        limit: int,
        busy: frozenset[Address] = frozenset(),
        lease_seconds: float = 60.0,
    ) -> list[Parcel]:
        """Parcels of a channel that may leave now, leased."""
        until = to_ms(now + timedelta(seconds=lease_seconds))
        return await self._file.write(lambda db: outbox.next_parcels(db, channel, to_ms(now), until, limit, busy))

    async def delivered(self, parcel: Parcel, receipt: Delivered, now: datetime) -> None:
        """The channel took it. Lost in a power cut, it is an attempt that may have arrived."""
        await self._file.write(lambda db: outbox.delivered(db, parcel, receipt, to_ms(now)), durable=False)

    async def refused(self, parcel: Parcel, refusal: Refusal, now: datetime, *, again_at: datetime | None) -> None:
        """The channel did not take it."""

        def work(db: Database) -> None:
            outbox.refused(db, parcel, refusal, to_ms(now), None if again_at is None else to_ms(again_at))
            if refusal.kind == "moved" and refusal.chat is not None:
                self._move(db, parcel, refusal.chat)

        await self._file.write(work)

    @staticmethod
    def _move(db: Database, parcel: Parcel, new: str) -> None:
        channel, chat = parcel.address.channel, parcel.address.chat
        outbox.move(db, parcel.dealer, channel, chat, new)
        inbox.move(db, parcel.dealer, channel, chat, new)
        for sql in (house.MOVE, _MOVE_CONVERSATION):
            db.execute(sql, {"dealer": parcel.dealer, "channel": channel, "chat": chat, "new": new})

    async def next_moment(self, after: datetime | None = None) -> datetime | None:
        """The earliest time at which something ripens or may leave."""
        later_than = -1 if after is None else to_ms(after)
        moment = await self._file.read(lambda db: dues.next_moment(db, later_than))
        return None if moment is None else from_ms(moment)

    async def depths(self) -> dict[Lane, int]:
        """How many parcels wait in each lane."""
        return await self._file.read(outbox.depths)

    async def tidy(self, before: datetime) -> int:
        """Forget what was finished before then, a little at a time, and empty the write-ahead log."""
        gone = 0
        for sql in (inbox.FORGET, outbox.FORGET):
            while forgotten := await self._forget(sql, to_ms(before)):
                gone += forgotten
        self._file.checkpoint()
        return gone

    async def _forget(self, sql: str, before: int) -> int:
        values = {"before": before, "limit": _TIDY_AT_ONCE}
        return await self._file.write(lambda db: db.execute(sql, values).rowcount)

    async def put_dealer(self, dealer: Dealer) -> None:
        """Add or change a dealer."""
        await self._file.write(lambda db: house.put_dealer(db, dealer))

    async def dealers(self) -> list[Dealer]:
        """Every dealer."""
        return await self._file.read(house.dealers)

    async def put(
        self, dealer: str, people: Sequence[Person], tubs: Sequence[Tub], links: Sequence[tuple[str, str]]
    ) -> None:
        """Add or change people, tubs and links."""
        await self._file.write(lambda db: house.put(db, dealer, people, tubs, links))

    async def put_invite(self, invite: Invite) -> None:
        """Add or change an invite."""
        await self._file.write(lambda db: house.put_invite(db, invite))

    async def write(self, entries: Sequence[Entry]) -> None:
        """Append entries to the journal."""
        await self._file.write(lambda db: journal.append(db, entries))

    async def journal(
        self, dealer: str, *, after: int = 0, tub: str | None = None, person: str | None = None
    ) -> list[tuple[int, Entry]]:
        """Entries with their running numbers, in the order written."""
        return await self._file.read(lambda db: journal.numbered(db, dealer, after, tub, person))

    async def person_at(self, dealer: str, address: Address) -> Person | None:
        """Who is behind an address."""
        return await self._file.read(lambda db: house.person_at(db, dealer, address))

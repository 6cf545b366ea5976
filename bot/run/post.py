"""The post: drains the outbox through the channels, each at its own pace."""

import asyncio
import logging
import random
from collections.abc import Awaitable, Callable, Mapping
from datetime import datetime

from bot.channels.contract import Receive
from bot.model.event import Arrival, GroupLapsed
from bot.model.group import Lapse, Place
from bot.model.message import Delivered, Parcel, Refusal
from bot.model.person import Address
from bot.run.bell import Bell
from bot.run.clock import Clock
from bot.run.pace import Metronome, Pace
from bot.run.seat import Seat, Seats, seats_of
from bot.run.studio import LOADING_SECONDS, MAKING_SECONDS, Studio
from bot.run.verdict import hindrance, judge, marked, without_dose
from bot.store.contract import Store, StoreBroken

log = logging.getLogger(__name__)

IN_FLIGHT = 16
LEASE_SECONDS = 80.0
SEND_SECONDS = LEASE_SECONDS - LOADING_SECONDS - MAKING_SECONDS - 3.0
"""How long one sending may take: with making what is enclosed less than the lease, so that nobody else sends it."""
IDLE_SECONDS = 5.0
LONGEST_PAUSE = 30.0
SHUT = frozenset({"blocked", "gone"})
INSIST_SECONDS = (0.5, 1.0, 2.0, 4.0)

Marked = Callable[[Parcel], Parcel]
"""Makes a repetition recognisable."""


class Post:
    """Sends what waits in the outbox, by channel name. `receive` hears what became of a group, as an arrival."""

    def __init__(
        self,
        store: Store,
        seats: Seats,
        *,
        paces: Mapping[str, Pace] | None = None,
        in_flight: int = IN_FLIGHT,
        chance: random.Random | None = None,
        mark: Marked = marked,
        receive: Receive | None = None,
    ) -> None:
        if not 1 <= in_flight <= 32:
            raise ValueError(f"{in_flight} messages in flight are not possible; choose 1 to 32")
        self.studio = Studio()
        chance = chance or random.SystemRandom()
        self.senders = [
            Sender(store, seat, in_flight, chance, mark, self.studio, receive) for seat in seats_of(seats, paces or {})
        ]

    def ring(self) -> None:
        """There may be something to send."""
        for sender in self.senders:
            sender.bell.ring()

    async def drain(self, now: datetime) -> int:
        """Send everything that may leave now, one by one, without a pace; returns how many were tried."""
        return sum([await sender.drain(now) for sender in self.senders])


class Sender:
    """Sends by one seat."""

    def __init__(
        self,
        store: Store,
        seat: Seat,
        in_flight: int,
        chance: random.Random,
        mark: Marked,
        studio: Studio,
        receive: Receive | None,
    ) -> None:
        self._store = store
        self._studio = studio
        self.seat = seat
        self._name = seat.channel.name
        self._channel = seat.channel
        self._metronome = Metronome(seat.pace)
        self._free = asyncio.Semaphore(in_flight)
        self._chance = chance
        self._mark = mark
        self._receive = receive
        self._busy: set[Address] = set()
        self.bell = Bell()
        self.is_open = seat.tenure is None or not seat.polls
        """Whether messages can leave here now: who polls in turn with other services does so while it is their turn."""

    async def drain(self, now: datetime) -> int:
        """Send everything that may leave now, one by one, without a pace; returns how many were tried."""
        tried = 0
        while parcels := await self._store.next_parcels(
            self._name, now, 1, lease_seconds=LEASE_SECONDS, dealer=self.seat.dealer
        ):
            for parcel in parcels:
                await self._deliver(parcel, lambda: now)
                tried += 1
        return tried

    async def run_forever(self, clock: Clock, stop: asyncio.Event) -> None:
        """Send at the channel's pace, at most so many at once."""
        failures = 0
        async with asyncio.TaskGroup() as group:
            while not stop.is_set():
                try:
                    parcel = await self._next(clock)
                except StoreBroken as broken:
                    failures += 1
                    log.warning("the store does not work, sending waits: %s", broken)
                    await self.bell.wait(min(2.0 ** (failures - 1), LONGEST_PAUSE))
                    continue
                failures = 0
                if parcel is None:
                    await self.bell.wait(self._idle_seconds())
                else:
                    group.create_task(self._send(parcel, clock))

    async def _next(self, clock: Clock) -> Parcel | None:
        """The next parcel, once the token has rested and a place in the air is free, which it then holds."""
        await self._free.acquire()
        try:
            loop = asyncio.get_running_loop()
            await asyncio.sleep(self._metronome.seconds_left(loop.time()))
            held = frozenset(self._busy) | self._metronome.resting(loop.time())
            parcels = await self._store.next_parcels(
                self._name, clock.now(), 1, held, LEASE_SECONDS, dealer=self.seat.dealer
            )
        except BaseException:
            self._free.release()
            raise
        for parcel in parcels:
            self._metronome.left(parcel.address, loop.time())
            self._busy.add(parcel.address)
            return parcel
        self._free.release()
        return None

    def _idle_seconds(self) -> float:
        rest = self._metronome.next_chat(asyncio.get_running_loop().time())
        return IDLE_SECONDS if rest is None else min(rest, IDLE_SECONDS)

    async def _send(self, parcel: Parcel, clock: Clock) -> None:
        loop = asyncio.get_running_loop()
        began = loop.time()

        def landed() -> None:
            self._metronome.arrived(parcel.address, loop.time() - began)
            self._busy.discard(parcel.address)
            self.bell.ring()

        try:
            again_at = await self._deliver(parcel, clock.now, landed)
        except StoreBroken as broken:
            log.warning("parcel %d: its fate could not be written down: %s", parcel.number, broken)
        else:
            if again_at is not None:
                wait = (again_at - clock.now()).total_seconds()
                loop.call_later(max(wait, 0), self.bell.ring)
        finally:
            self._free.release()
            self._busy.discard(parcel.address)
            self.bell.ring()

    async def _deliver(
        self, parcel: Parcel, now: Callable[[], datetime], landed: Callable[[], None] = lambda: None
    ) -> datetime | None:
        """Send one parcel and write down its fate; returns when it is to be tried again.

        `landed` is called once the channel has answered, so that the chat's next parcel may be taken up in the commit
        that writes down the fate of this one; before that commit the store does not give it out.
        """
        if (hindered := hindrance(parcel, now())) is not None:
            await self._store.refused(parcel, hindered.refusal, now(), again_at=hindered.again_at)
            return hindered.again_at
        answer = await self._ask_channel(self._mark(await self._studio.enclose(without_dose(parcel))))
        landed()
        await self._tell_of_group(parcel, answer, now())
        if isinstance(answer, Delivered):
            receipt = answer
            await _insist(lambda: self._store.delivered(parcel, receipt, now()))
            return None
        again_at, refusal = judge(parcel, answer, now(), self._chance)
        fate = "it is not tried again" if again_at is None else f"again at {again_at.isoformat(timespec='seconds')}"
        log.warning("parcel %d was refused (%s): %s; %s", parcel.number, refusal.kind, refusal.why, fate)
        await _insist(lambda: self._store.refused(parcel, refusal, now(), again_at=again_at))
        return again_at

    async def _tell_of_group(self, parcel: Parcel, answer: Delivered | Refusal, now: datetime) -> None:
        """What a group did with a message comes back as an arrival, that something is missing once a day."""
        lapse: Lapse = answer.lapse if isinstance(answer, Delivered) else "gone" if answer.kind in SHUT else ""
        topic = parcel.message.topic
        if topic is None or not lapse or self._receive is None:
            return
        receive = self._receive
        once = {"new": f"{topic.case}:{answer.thread}", "gone": f"{parcel.number}"}.get(lapse, f"{now:%Y-%m-%d}")
        arrival = Arrival(
            dealer=parcel.dealer,
            address=parcel.address,
            update=f"group:{parcel.address.chat}:{lapse}:{once}",
            at=now,
            event=GroupLapsed(what=lapse, case=topic.case),
            group=Place(),
        )

        async def hand_on() -> None:
            await receive(arrival)

        await _insist(hand_on)

    async def _ask_channel(self, parcel: Parcel) -> Delivered | Refusal:
        try:
            async with asyncio.timeout(SEND_SECONDS):
                return await self._channel.send(parcel)
        except TimeoutError:
            return Refusal(kind="unknown", why=f"no answer within {SEND_SECONDS:.0f} seconds")
        except Exception as error:  # a channel's fault must not stop the others
            return Refusal(kind="unknown", why=f"the channel failed with {type(error).__name__}")


async def _insist(write: Callable[[], Awaitable[None]]) -> None:
    """Write down a fate although the store does not work for a moment: what is not written down is sent again."""
    for pause in INSIST_SECONDS:
        try:
            return await write()
        except StoreBroken as broken:
            log.warning("the store does not work, writing down a fate waits: %s", broken)
            await asyncio.sleep(pause)
    return await write()

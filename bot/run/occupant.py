"""Taking a seat: its channel is opened, sent through and closed, in turn with other services where need be."""

import asyncio
import logging

from bot.channels.contract import Receive
from bot.run.clock import Clock
from bot.run.post import Sender
from bot.run.tenure import Tenure

log = logging.getLogger(__name__)

CLOSE_SECONDS = 5.0


class Occupant:
    """Takes a seat as long as the service runs: opens the channel, sends through it, closes it."""

    def __init__(self, sender: Sender) -> None:
        self.seat = sender.seat
        self._sender = sender
        self._to_close = False
        self.is_opening = False

    async def run(self, clock: Clock, stop: asyncio.Event, receive: Receive) -> None:
        """Take in and send until `stop` is set and the bell has rung.

        Send only once the channel is open: a message taken up before would be in doubt if the process ended.
        """
        if self.seat.tenure is None:
            await self._open(receive)
            await self._sender.run_forever(clock, stop)
            return
        if not self.seat.polls:
            await self._open(receive)
        while await self.seat.tenure.win(clock, stop):
            await self._serve_term(self.seat.tenure, clock, stop, receive)

    async def close(self, seconds: float) -> None:
        """Close the channel's way in; a fault of one channel must not keep others open."""
        if not self._to_close:
            return
        self._to_close = False
        try:
            async with asyncio.timeout(seconds):
                await self.seat.channel.stop()
        except Exception as error:
            log.warning("the channel %s did not close: %s", self.seat.channel.name, type(error).__name__)

    async def _serve_term(self, tenure: Tenure, clock: Clock, stop: asyncio.Event, receive: Receive) -> None:
        """Send while the tenure is held."""
        over = asyncio.Event()

        async def keep() -> None:
            try:
                await tenure.keep(clock, stop)
            finally:
                over.set()
                self._sender.bell.ring()

        async with asyncio.TaskGroup() as group:
            group.create_task(keep())
            if self.seat.polls:
                await self._open(receive)
            self._sender.is_open = True
            await self._sender.run_forever(clock, over)
        self._sender.is_open = not self.seat.polls
        if self.seat.polls and not stop.is_set():
            await self.close(CLOSE_SECONDS)

    async def _open(self, receive: Receive) -> None:
        self.is_opening = self._to_close = True
        try:
            await self.seat.channel.start(receive)
        except Exception:
            self._to_close = False
            raise
        finally:
            self.is_opening = False

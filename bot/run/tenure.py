"""Tenure: the right to use a dealer's token, held by one service at a time and taken over when its holder dies."""

import asyncio
import logging
import secrets

from bot.run.clock import Clock
from bot.store.contract import Store, StoreBroken

log = logging.getLogger(__name__)

SECONDS = 8.0
"""How long a lease lasts: so long at most a token is silent when the service that holds it dies."""
MARGIN = 0.75
"""What part of that a service counts on: its clock and another's need not agree to the second."""


def new_holder() -> str:
    """A name for this run of this service."""
    return secrets.token_hex(8)


class Tenure:
    """One dealer's token on one channel, sought, kept and lost by one service."""

    def __init__(self, store: Store, dealer: str, what: str, holder: str, seconds: float = SECONDS) -> None:
        self._store = store
        self._dealer = dealer
        self._what = what
        self._holder = holder
        self._seconds = seconds
        self._until = 0.0

    async def win(self, clock: Clock, stop: asyncio.Event) -> bool:
        """Wait until it is held; False when `stop` was set first."""
        while not stop.is_set():
            if await self._hold(clock):
                return True
            await _sleep_or(stop, self._seconds / 4)
        return False

    async def keep(self, clock: Clock, stop: asyncio.Event) -> None:
        """Renew it until it is lost or `stop` is set."""
        loop = asyncio.get_running_loop()
        while not stop.is_set() and loop.time() < self._until:
            await _sleep_or(stop, min(self._seconds / 4, max(self._until - loop.time(), 0.0)))
            await self._hold(clock)
        if not stop.is_set():
            log.warning("%s of %s: another service sends from now on", self._what, self._dealer)

    async def _hold(self, clock: Clock) -> bool:
        asked = asyncio.get_running_loop().time()
        try:
            held = await self._store.hold(self._dealer, self._what, self._holder, clock.now(), self._seconds)
        except StoreBroken as broken:
            log.warning("the lease on %s of %s cannot be renewed now: %s", self._what, self._dealer, broken)
            return False
        self._until = asked + self._seconds * MARGIN if held else 0.0
        return held


async def _sleep_or(stop: asyncio.Event, seconds: float) -> None:
    try:
        async with asyncio.timeout(seconds):
            await stop.wait()
    except TimeoutError:
        return

"""Tells waiters on any thread or event loop that something has changed."""

import asyncio
import threading
import time
from collections.abc import Callable


class Bell:
    """Rung after each change; `lock` guards the state that changes."""

    def __init__(self) -> None:
        self.lock = threading.RLock()
        self._condition = threading.Condition(self.lock)
        self._waiters: set[asyncio.Future[None]] = set()

    def ring(self) -> None:
        """Wake everyone who waits, here and on other threads."""
        with self.lock:
            self._condition.notify_all()
            waiters, self._waiters = self._waiters, set()
        for waiter in waiters:
            loop = waiter.get_loop()
            if not loop.is_closed():
                loop.call_soon_threadsafe(_settle, waiter)

    async def until(self, holds: Callable[[], bool], within: float) -> bool:
        """Wait on the event loop until `holds()` or until `within` seconds have passed; say which (True: it holds)."""
        deadline = time.monotonic() + within
        while True:
            waiter: asyncio.Future[None] = asyncio.get_running_loop().create_future()
            with self.lock:
                if holds():
                    return True
                self._waiters.add(waiter)
            try:
                # Not wait_for: up to Python 3.11 it swallows a cancellation that meets a finished future.
                await asyncio.wait({waiter}, timeout=max(0.0, deadline - time.monotonic()))
            finally:
                with self.lock:
                    self._waiters.discard(waiter)
            if time.monotonic() >= deadline:
                with self.lock:
                    return holds()

    def wait(self, holds: Callable[[], bool], within: float) -> bool:
        """The same for a thread without an event loop."""
        with self._condition:
            return self._condition.wait_for(holds, within)


def _settle(waiter: "asyncio.Future[None]") -> None:
    if not waiter.done():
        waiter.set_result(None)

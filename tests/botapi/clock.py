"""The service's clock: real, sped up, or moved by hand."""

import time


class Clock:
    """Seconds since 1970 that run `speed` times as fast as the machine's."""

    def __init__(self, speed: float = 1.0) -> None:
        self.speed = speed
        self._began = time.time()
        self._ticks = time.monotonic()

    def now(self) -> float:
        """The present, in seconds since 1970."""
        return self._began + (time.monotonic() - self._ticks) * self.speed


class ManualClock(Clock):
    """A clock that stands still until it is told to advance."""

    def __init__(self, start: float = 1_800_000_000.0) -> None:
        super().__init__()
        self._now = start

    def now(self) -> float:
        """The present, in seconds since 1970."""
        return self._now

    def advance(self, seconds: float) -> None:
        """Let `seconds` pass at once."""
        self._now += seconds

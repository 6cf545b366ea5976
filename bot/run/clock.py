"""The only place that asks what time it is."""

from datetime import UTC, datetime, timedelta
from typing import Protocol


class Clock(Protocol):
    """Something that knows the time."""

    def now(self) -> datetime:
        """The time now, aware, in UTC."""


class WallClock:
    """The machine's clock."""

    def now(self) -> datetime:
        """The time now."""
        return datetime.now(UTC)


class VirtualClock:
    """A clock that stands until it is moved; it never goes back."""

    def __init__(self, start: datetime) -> None:
        self._now = start.astimezone(UTC)

    def now(self) -> datetime:
        """The time it was moved to last."""
        return self._now

    def move_to(self, moment: datetime) -> None:
        """Move forward to `moment`; an earlier one is refused with ValueError."""
        if moment < self._now:
            raise ValueError(f"a clock cannot go back from {self._now} to {moment}")
        self._now = moment.astimezone(UTC)

    def pass_time(self, span: timedelta) -> None:
        """Move forward by `span`."""
        self.move_to(self._now + span)

"""A seat: a channel as a service uses it, for one dealer or for all, alone or in turn with other services."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

from bot.channels.contract import Channel
from bot.run.pace import Pace
from bot.run.tenure import Tenure


@dataclass(frozen=True)
class Seat:
    """A channel, whose messages leave by it (None: every dealer's), how fast, and by what right."""

    channel: Channel
    dealer: str | None = None
    pace: Pace = field(default_factory=Pace)
    tenure: Tenure | None = None
    """Where several services share a token: who holds it sends, and polls if that is how the channel takes in."""
    polls: bool = True
    """Whether the channel fetches what comes, so that only one may do it; otherwise it is open all the time."""


Seats = Sequence[Seat] | Mapping[str, Channel]
"""Seats, or channels by name that one service uses alone for every dealer."""


def seats_of(seats: Seats, paces: Mapping[str, Pace]) -> list[Seat]:
    """Seats in one form."""
    if isinstance(seats, Mapping):
        return [Seat(channel, pace=paces.get(name, Pace())) for name, channel in seats.items()]
    return list(seats)

"""How fast a channel may be used: one message after the other for a token, and slower within a chat."""

from collections.abc import Callable
from dataclasses import dataclass, field

from bot.model.person import Address


def one_a_second(_chat: str) -> float:
    """The same for every chat: one message a second."""
    return 1.0


def one_at_a_time(_chat: str) -> int:
    """No chat gets several messages at once."""
    return 1


LATE_SECONDS = 0.1
"""How late a message may leave for the next to be as much sooner: a sleep or the disk took long. More was a rest."""


@dataclass(frozen=True)
class Pace:
    """The pace of one channel: messages per second of the token, and seconds between two messages of a chat.

    There is no burst of the token: after an hour of rest it still sends one message at a time. A chat that rested takes
    `chat_burst` messages at once, so within any `t` seconds at most `chat_burst + t / chat_seconds`. `math.inf` per
    second and a `chat_seconds` of zero are no limit.
    """

    per_second: float = 25.0
    chat_seconds: Callable[[str], float] = one_a_second
    chat_burst: Callable[[str], int] = one_at_a_time

    def __post_init__(self) -> None:
        """Refuse a pace at which nothing would ever leave."""
        if self.per_second <= 0:
            raise ValueError(f"{self.per_second} messages per second is no pace; give a positive number")


@dataclass
class Metronome:
    """Keeps a pace, on a clock of seconds that the caller reads."""

    pace: Pace
    _next: float = 0.0
    _chats: dict[Address, float] = field(default_factory=dict)
    """When each chat will have rested from all that it was sent."""

    def seconds_left(self, now: float) -> float:
        """How long the token must still rest; zero where a message may leave."""
        return max(0.0, self._next - now)

    def left(self, address: Address, now: float) -> None:
        """A message to that chat leaves now."""
        gap = 1.0 / self.pace.per_second
        self._next = (self._next if now - self._next < min(gap, LATE_SECONDS) else now) + gap
        rest = self.pace.chat_seconds(address.chat)
        if rest > 0:
            self._chats[address] = max(self._chats.get(address, now), now) + rest

    def arrived(self, address: Address, seconds: float) -> None:
        """A message to that chat took so long to arrive: the service counts the chat's rest from there."""
        if address in self._chats:
            self._chats[address] += seconds

    def resting(self, now: float) -> frozenset[Address]:
        """Chats that have had as much as they take at once."""
        self._chats = {address: until for address, until in self._chats.items() if until > now}
        return frozenset(address for address in self._chats if self._may(address) > now)

    def next_chat(self, now: float) -> float | None:
        """How long until the first resting chat may have another message; None where no chat rests."""
        return min((may - now for address in self._chats if (may := self._may(address)) > now), default=None)

    def _may(self, address: Address) -> float:
        """From when a chat may have another message."""
        burst = self.pace.chat_burst(address.chat) - 1
        return self._chats[address] - burst * self.pace.chat_seconds(address.chat)

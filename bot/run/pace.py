"""How fast a channel may be used: one message after the other for a token, and slower within a chat."""

from collections.abc import Callable
from dataclasses import dataclass, field

from bot.model.person import Address


def one_a_second(_chat: str) -> float:
    """The same for every chat: one message a second."""
    return 1.0


@dataclass(frozen=True)
class Pace:
    """The pace of one channel: messages per second of the token, and seconds between two messages of a chat.

    There is no burst: a token that rested for an hour still sends one message at a time. `math.inf` per second and a
    `chat_seconds` of zero are no limit.
    """

    per_second: float = 25.0
    chat_seconds: Callable[[str], float] = one_a_second

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

    def seconds_left(self, now: float) -> float:
        """How long the token must still rest; zero where a message may leave."""
        return max(0.0, self._next - now)

    def left(self, address: Address, now: float) -> None:
        """A message to that chat leaves now."""
        self._next = max(self._next, now) + 1.0 / self.pace.per_second
        rest = self.pace.chat_seconds(address.chat)
        if rest > 0:
            self._chats[address] = now + rest

    def resting(self, now: float) -> frozenset[Address]:
        """Chats that had a message a moment ago."""
        self._chats = {address: until for address, until in self._chats.items() if until > now}
        return frozenset(self._chats)

    def next_chat(self, now: float) -> float | None:
        """How long until the first resting chat may have another message; None where no chat rests."""
        return min((until - now for until in self._chats.values() if until > now), default=None)

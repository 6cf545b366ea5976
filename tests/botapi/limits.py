"""How many messages the service takes: per chat, per group, over all."""

import math
from collections import defaultdict, deque
from dataclasses import dataclass, field

from tests.botapi.clock import Clock
from tests.botapi.errors import too_many

Rate = tuple[int, float]
"""So many messages in so many seconds."""


@dataclass
class Limits:
    """Sliding windows; once one has been overrun, its scope stays shut until the announced seconds are over."""

    overall: Rate | None = (30, 1.0)
    group: Rate | None = (20, 60.0)
    chat: Rate | None = None
    _sent: dict[str, deque[float]] = field(default_factory=lambda: defaultdict(deque))
    _shut: dict[str, float] = field(default_factory=dict)

    @classmethod
    def none(cls) -> "Limits":
        """No limit at all."""
        return cls(overall=None, group=None, chat=None)

    def admit(self, chat_id: int, clock: Clock, messages: int = 1) -> None:
        """Count `messages` to the chat, or refuse with 429 and count nothing."""
        now = clock.now()
        scopes: list[tuple[str, Rate | None]] = [("overall", self.overall), (f"chat {chat_id}", self.chat)]
        if chat_id < 0:
            scopes.append((f"group {chat_id}", self.group))
        watched = [(scope, rate) for scope, rate in scopes if rate is not None]
        for scope, rate in watched:
            self._check(scope, rate, now, messages)
        for scope, _ in watched:
            self._sent[scope].extend([now] * messages)

    def _check(self, scope: str, rate: Rate, now: float, messages: int) -> None:
        shut = self._shut.get(scope, 0.0)
        if now < shut:
            raise too_many(math.ceil(shut - now))
        most, seconds = rate
        sent = self._sent[scope]
        while sent and sent[0] <= now - seconds:
            sent.popleft()
        if len(sent) + messages > most:
            wait = max(1, math.ceil((sent[0] if sent else now) + seconds - now))
            self._shut[scope] = now + wait
            raise too_many(wait)

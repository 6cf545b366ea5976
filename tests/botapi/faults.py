"""Faults on order: what goes wrong with which request."""

import random
from dataclasses import dataclass, field
from typing import Literal

from tests.botapi.errors import Json, Refusal, bad_request, forbidden, migrated, too_many

Kind = Literal["refuse", "page", "hang", "slow", "slow after", "drop", "drop after", "half", "garbled"]


@dataclass(frozen=True)
class Fault:
    """One thing that goes wrong. Kinds that end in `after`, `half` and `garbled` strike when the work is done."""

    kind: Kind
    seconds: float = 0.0
    code: int = 0
    description: str = ""
    parameters: Json | None = None

    @classmethod
    def refuse(cls, refusal: Refusal) -> "Fault":
        """Any refusal."""
        return cls("refuse", code=refusal.code, description=refusal.description, parameters=refusal.parameters)

    @classmethod
    def bad_request(cls, text: str) -> "Fault":
        """400 with this text."""
        return cls.refuse(bad_request(text))

    @classmethod
    def blocked(cls) -> "Fault":
        """403: the person has blocked the bot."""
        return cls.refuse(forbidden("bot was blocked by the user"))

    @classmethod
    def deactivated(cls) -> "Fault":
        """403: the account is gone."""
        return cls.refuse(forbidden("user is deactivated"))

    @classmethod
    def kicked(cls) -> "Fault":
        """403: the bot was removed from the group."""
        return cls.refuse(forbidden("bot was kicked from the supergroup chat"))

    @classmethod
    def moved(cls, new_id: int) -> "Fault":
        """400: the group has become a supergroup."""
        return cls.refuse(migrated(new_id))

    @classmethod
    def flood(cls, seconds: int) -> "Fault":
        """429 with `retry_after`."""
        return cls.refuse(too_many(seconds))

    @classmethod
    def server_error(cls, code: int = 500) -> "Fault":
        """5xx as the service itself says it, in JSON."""
        return cls.refuse(Refusal(code, "Internal Server Error"))

    @classmethod
    def gateway(cls, code: int = 502) -> "Fault":
        """5xx from something in front of the service: a page, no JSON."""
        return cls("page", code=code)

    @classmethod
    def hang(cls) -> "Fault":
        """Nothing is done and no answer ever comes."""
        return cls("hang")

    @classmethod
    def slow(cls, seconds: float, *, after_the_work: bool = False) -> "Fault":
        """The answer takes its time; the work is done before or after the pause."""
        return cls("slow after" if after_the_work else "slow", seconds=seconds)

    @classmethod
    def drop(cls, *, after_the_work: bool = False) -> "Fault":
        """The connection breaks without an answer."""
        return cls("drop after" if after_the_work else "drop")

    @classmethod
    def half(cls) -> "Fault":
        """The work is done, half of the answer arrives, the connection breaks."""
        return cls("half")

    @classmethod
    def garbled(cls) -> "Fault":
        """The work is done, the answer is 200 and no JSON."""
        return cls("garbled")

    def refusal(self) -> Refusal:
        """What a fault of the kind `refuse` answers."""
        return Refusal(self.code, self.description, self.parameters)


@dataclass
class Order:
    """When a fault strikes: on this method and chat (None: any), after `skip` spared requests, `times` times."""

    fault: Fault
    method: str | None
    chat: int | None
    times: int | None
    skip: int
    chance: float

    def meets(self, method: str, chat: int | None) -> bool:
        """Whether this order speaks of such a request."""
        return (self.method is None or self.method.lower() == method) and (self.chat is None or self.chat == chat)


@dataclass
class Faults:
    """The orders that stand; the earliest one that fits a request strikes."""

    seed: int = 0
    orders: list[Order] = field(default_factory=list)

    def __post_init__(self) -> None:
        self._random = random.Random(self.seed)

    def order(
        self,
        fault: Fault,
        *,
        method: str | None = None,
        chat: int | None = None,
        times: int | None = 1,
        skip: int = 0,
        chance: float = 1.0,
    ) -> None:
        """Have `fault` strike; `times=None` means until `clear()`, `chance` draws from the seeded generator."""
        self.orders.append(Order(fault, method, chat, times, skip, chance))

    def clear(self) -> None:
        """Withdraw every order."""
        self.orders.clear()

    def take(self, method: str, chat: int | None) -> Fault | None:
        """The fault that strikes this request, if one does; `method` in lower case."""
        for order in self.orders:
            if not order.meets(method, chat):
                continue
            if order.skip > 0:
                order.skip -= 1
                continue
            if order.chance < 1.0 and self._random.random() >= order.chance:
                continue
            if order.times is not None:
                order.times -= 1
                if order.times == 0:
                    self.orders.remove(order)
            return order.fault
        return None

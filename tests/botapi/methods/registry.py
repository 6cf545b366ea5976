"""Methods by name."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.params import Params

Work = Callable[["BotApi", "Params"], Any]


@dataclass(frozen=True)
class Method:
    """What a method does, and whether it counts against the message limits."""

    work: Work
    counts: bool


METHODS: dict[str, Method] = {}


def method(name: str, *, counts: bool = False) -> Callable[[Work], Work]:
    """Make a function answer this method; names are told apart without regard to case, as the service does."""

    def register(work: Work) -> Work:
        METHODS[name.lower()] = Method(work, counts)
        return work

    return register

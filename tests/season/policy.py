"""What a policy is: it is told what an owner tells, and says what the owner should do now.

`python -m tests.season.policy MODULE:FACTORY` lets one run against the tubs of the season, without any conversation.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Literal, Protocol, TypeAlias, runtime_checkable

from dosing import Kit, Reading
from tests.season.tub import TrueTub


@dataclass(frozen=True, slots=True)
class Profile:
    """What is known of a tub from the beginning; litres, degC."""

    volume: float
    """As the brochure says: the tub may hold up to 15 % less or more."""
    kit: Kit
    temperature: float
    source: Literal["mains", "well", "softened"]
    method: Literal["strip", "meter"]
    soaks_per_week: float
    """What the owner guessed when asked."""


# -- what a policy is told; `at` in hours since the first fill (which is at noon of day 0)


@dataclass(frozen=True, slots=True)
class Filled:
    """All water is new, as it comes from the tap and warmed."""

    at: float


@dataclass(frozen=True, slots=True)
class Tested:
    """A test of fc, ph and ta (ch and cya too with a meter), as its pads or numbers were named.

    `better`: a careful measurement of the pH alone, asked for by `Better`; its method is "meter".
    """

    at: float
    reading: Reading
    better: bool = False


@dataclass(frozen=True, slots=True)
class Poured:
    """What the owner says went in. What did go in differs by their error."""

    at: float
    product: str
    grams: float
    substances: Mapping[str, float]
    why: Why


@dataclass(frozen=True, slots=True)
class Bathed:
    """Who bathed, told when they got out; `at` is when they got in."""

    at: float
    bathers: int
    minutes: float


@dataclass(frozen=True, slots=True)
class Leaving:
    """Nobody will be there from now to `until`; told in the evening before. Something may be done now."""

    at: float
    until: float


@dataclass(frozen=True, slots=True)
class NewBottle:
    """A new bottle of strips was opened: what was learned of the old one's bias is void."""

    at: float


Fact: TypeAlias = Filled | Tested | Poured | Bathed | Leaving | NewBottle

# -- what a policy says

Why = Literal["balance", "routine", "soak", "shock"]


@dataclass(frozen=True, slots=True)
class Test:
    """Test the water now. It may be done a day late."""


@dataclass(frozen=True, slots=True)
class Better:
    """Have the pH measured with something better than a strip. Done within a few days, at most once a bottle."""


@dataclass(frozen=True, slots=True)
class Pour:
    """So many grams of a product of the kit. `balance` is a dose for pH or alkalinity, and judged as one."""

    product: str
    grams: float
    why: Why
    wait_minutes: float = 30.0


@dataclass(frozen=True, slots=True)
class Refill:
    """Drain and fill with new water."""


@dataclass(frozen=True, slots=True)
class Aerate:
    """Run the jets with air for so many minutes."""

    minutes: float


Act: TypeAlias = Test | Better | Pour | Refill | Aerate


class Policy(Protocol):
    """Looks after one tub. Asked every evening that somebody is at home, after each soak that is told, and again
    after everything that was done, until it has nothing more to say.
    """

    def told(self, fact: Fact) -> None:
        """Hear of something that has just happened."""

    def advise(self, at: float, moment: Moment) -> Sequence[Act]:
        """What to do now, in this order; nothing: leave it as it is until the next moment."""


@runtime_checkable
class Knowing(Protocol):
    """A policy that is shown the truth, to see how far any policy could come."""

    def meet(self, tub: TrueTub) -> None:
        """Be handed the true tub before anything happens."""


Moment = Literal["evening", "soaked", "again"]
Factory: TypeAlias = Callable[[Profile], Policy]


@dataclass
class Silent:
    """A policy that never says anything."""

    heard: list[Fact] = field(default_factory=list)

    def told(self, fact: Fact) -> None:
        self.heard.append(fact)

    def advise(self, at: float, moment: Moment) -> Sequence[Act]:
        return ()


if __name__ == "__main__":
    from tests.season.bench import main

    main()

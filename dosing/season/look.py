"""`look(tub, history)`: everything the season says of one tub; `Fleet` the same of many at once."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from dosing.history import Past
from dosing.season.ahead import Forecast, forecast
from dosing.season.belief import Belief
from dosing.season.habits import Habits, habits
from dosing.season.one import One
from dosing.season.routine import Routine, routine
from dosing.season.season import Season
from dosing.season.timeline import Timeline, timeline
from dosing.season.tub import Tub

__all__ = ["Fleet", "look", "look_many"]


@dataclass(frozen=True, slots=True)
class Fleet:
    """Many tubs, learned from their journals in one pass; `fleet[i]` is the season of one."""

    tubs: tuple[Tub, ...]
    histories: tuple[Sequence[Past], ...]
    line: Timeline
    belief: Belief
    habits: Habits
    routine: Routine

    @classmethod
    def of(cls, tubs: Sequence[Tub], histories: Sequence[Sequence[Past]]) -> Fleet:
        """Raises ValueError where there is not one history for each tub, or no tub."""
        if not tubs or len(tubs) != len(histories):
            raise ValueError("a fleet is at least one tub, each with its history")
        line = timeline(tubs, histories)
        belief = Belief.of(tubs, line)
        return cls(tuple(tubs), tuple(histories), line, belief, habits(tubs, line), routine(tubs, belief.level))

    def __len__(self) -> int:
        return len(self.tubs)

    def __getitem__(self, at: int) -> Season:
        one = (part.one(at) for part in (self.line, self.belief, self.habits, self.routine))
        return Season(One(self.tubs[at], self.histories[at], *one))  # type: ignore[arg-type]

    def forecast(self, hours: Sequence[float], *, follow_card: bool = True) -> Forecast:
        """Arrays (tubs, hours). Sanitizer stands under "sanitizer" whether it is chlorine or bromine."""
        return forecast(self.belief, self.habits, self.routine if follow_card else None, hours, self.tubs)


def look(tub: Tub, history: Sequence[Past]) -> Season:
    """What the season says of this tub."""
    return Fleet.of([tub], [history])[0]


def look_many(tubs: Sequence[Tub], histories: Sequence[Sequence[Past]]) -> tuple[Season, ...]:
    """The same of many, learned in one pass."""
    fleet = Fleet.of(tubs, histories)
    return tuple(fleet[at] for at in range(len(fleet)))

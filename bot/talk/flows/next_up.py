"""What comes next for the water: the dose if nobody bathes, or the test."""

from collections.abc import Generator
from datetime import date, timedelta
from typing import Any

from pydantic import JsonValue

from bot.model.zones import zone
from bot.schedule.care import Care, has_water
from bot.schedule.local import local_day
from bot.schedule.season import routine_goes_on
from bot.talk.flow import Doing, Keep, Live, Start
from bot.talk.words import Line, line


def next_up(start: Start, key: str, *, after_test: bool = False) -> Generator[Doing, Any, Line | None]:
    """The day of the next dose, so that nobody has to be reminded of it; where a test comes sooner, its day. None
    `after_test` where the routine goes on with a dose at once.
    """
    found = yield Keep(key, lambda live: None if after_test and _goes_on(live) else _next(live, start))
    if found is None:
        return None
    what, day = str(found).split()
    return line(f"next.{what}", day=date.fromisoformat(day))


def _next(live: Live, start: Start) -> JsonValue:
    person, tub = live.known.person or start.person, live.known.tub
    if tub is None or not has_water(live.journal):
        return None
    care = Care(person, tub, live.known.dealer, live.journal, live.now)
    tomorrow = local_day(live.now, zone(person.zone)) + timedelta(days=1)
    for what in ("dose", "test"):
        if (moment := care.first(what)) is not None:
            return f"{what} {max(local_day(moment, care.zone), tomorrow)}"
    return None


def _goes_on(live: Live) -> bool:
    return routine_goes_on(live.known.tub, live.known.dealer, live.journal, live.now)

"""Where the water of a case is by now, and where it goes if nothing is added."""

from collections.abc import Mapping, Sequence
from datetime import datetime

from bot.model.dealer import Dealer
from bot.schedule.season import season_of
from bot.talk.card import Story
from bot.talk.words import Line, Span, line, lines
from dosing.season import Forecast

HOURS = (0.0, 24.0, 72.0)
"""Now, tomorrow, and in three days: what a technician decides by (common practice)."""


def ahead(story: Story, dealer: Dealer, now: datetime) -> Line | None:
    """The likely water now and later, if nothing is added; None where the tub is not known well enough."""
    found = season_of(story.tub, dealer, story.journal, now)
    if found is None:
        return None
    forecast = found.forecast(HOURS, follow_card=False)
    moving = tuple(key for key in forecast.likely if key != "ta")
    rows = [
        line("ahead.in", span=Span(hours * 60), values=_values(forecast, at, moving))
        for at, hours in enumerate(HOURS)
        if hours
    ]
    now_values = _values(forecast, 0, tuple(forecast.likely))
    return lines(line("ahead.head"), line("ahead.now", values=now_values), *rows, gap="\n")


def _values(forecast: Forecast, at: int, keys: Sequence[str]) -> tuple[Line, ...]:
    def value(part: Mapping[str, object], key: str) -> float:
        number = float(part[key][at])  # type: ignore[index]
        return round(number, 1) if key == "ph" or number < 10 else round(number)

    return tuple(
        line(
            "proposal.value",
            name=line(f"reading.{key}"),
            mid=value(forecast.likely, key),
            low=value(forecast.low, key),
            high=value(forecast.high, key),
        )
        for key in keys
    )

"""When something that is told happened."""

from collections.abc import Sequence
from datetime import date, datetime, time, timedelta
from functools import cache

from bot.talk.understand.calendar_words import day_in, month_in
from bot.talk.understand.clock_words import clock_beside
from bot.talk.understand.durations import spans
from bot.talk.understand.lexicon import Lexicon
from bot.talk.understand.tokens import Token
from bot.talk.understand.words import table

MOST_DAYS = 400
"""Nobody tells what was done longer ago than that in days, weeks or months (common practice)."""
_MIDDAY = time(12)


@cache
def _day_parts() -> Lexicon:
    return Lexicon(table("events")["day_parts"])


def moment(words: Sequence[Token], now: datetime) -> tuple[datetime, bool]:
    """The time that the words place something at, never after `now`, and whether it was said to the hour.

    Without any word of time it is `now`. A day without an hour is its midday; morning, evening and night their middle.
    """
    ago = next((s for s in spans(words) if s.direction < 0), None)
    if ago and ago.minutes < 24 * 60:
        return now - timedelta(minutes=ago.minutes), True
    plain = " ".join(t.text for t in words)
    if ago and ago.minutes <= MOST_DAYS * 1440:
        day: date | None = now.date() - timedelta(days=round(ago.minutes / 1440))
    else:
        day = day_in(words, now.date(), plain=plain, past=True)
    if day is None and (month := month_in(words, now.date())):
        day = month[1]
    part = next((int(hit.label) for hit in _day_parts().longest(words)), None)
    at = clock_beside(words)
    if day is None and part is None and at is None:
        return now, True
    if at is not None:
        return _at(day, at, now), True
    if part is None and day == now.date():
        return now, False
    return _at(day, time(part) if part is not None else _MIDDAY, now), False


def _at(day: date | None, at: time, now: datetime) -> datetime:
    when = datetime.combine(day or now.date(), at, tzinfo=now.tzinfo)
    if when <= now:
        return when
    return when - timedelta(days=1) if day is None else now

"""Local dates and times of day as moments, and the hours in which a person is left alone.

A time of day that summer time skips is taken at the first moment that exists; one that comes twice, at the first.
"""

from datetime import UTC, date, datetime, time, timedelta
from zoneinfo import ZoneInfo

from bot.model.dealer import Quiet

FITTING = (time(18), time(17), time(12), time(10), time(9))
"""When a care task fits into a day, the best first: people are at home and it is not late (common practice)."""
MARGIN = timedelta(minutes=30)
"""A message that asks for work comes at least so long before the quiet hours."""


def at_local(day: date, clock: time, zone: ZoneInfo) -> datetime:
    """The moment, in UTC, at which clocks in `zone` show `clock` on `day`."""
    naive = datetime.combine(day, clock.replace(tzinfo=None))
    moment = naive.replace(tzinfo=zone).astimezone(UTC)
    if moment.astimezone(zone).replace(tzinfo=None) == naive:
        return moment
    return _after_gap(naive, zone)


def _after_gap(naive: datetime, zone: ZoneInfo) -> datetime:
    """The change over which `naive` was skipped, found by halving between the two readings of it."""
    later = naive.replace(tzinfo=zone).astimezone(UTC)
    earlier = naive.replace(tzinfo=zone, fold=1).astimezone(UTC)
    new = later.astimezone(zone).utcoffset()
    while later - earlier > timedelta(seconds=1):
        middle = (earlier + (later - earlier) / 2).replace(microsecond=0)
        if middle.astimezone(zone).utcoffset() == new:
            later = middle
        else:
            earlier = middle
    return later


def local_day(moment: datetime, zone: ZoneInfo) -> date:
    """The date on a calendar in `zone`."""
    return moment.astimezone(zone).date()


def is_quiet(clock: time, quiet: Quiet) -> bool:
    """Whether a time of day lies in the quiet hours; equal ends mean that there are none."""
    if quiet.start <= quiet.end:
        return quiet.start <= clock < quiet.end
    return clock >= quiet.start or clock < quiet.end


def in_quiet_hours(moment: datetime, quiet: Quiet, zone: ZoneInfo) -> bool:
    """Whether a person in `zone` is to be left alone at `moment`."""
    return is_quiet(moment.astimezone(zone).time(), quiet)


def allowed(moment: datetime, quiet: Quiet, zone: ZoneInfo) -> datetime:
    """`moment` itself, or the end of the quiet hours that it lies in."""
    local = moment.astimezone(zone)
    if not is_quiet(local.time(), quiet):
        return moment
    ends_today = local.time() < quiet.end
    end = at_local(local.date() + timedelta(days=0 if ends_today else 1), quiet.end, zone)
    return max(end, moment)


def fitting_time(quiet: Quiet) -> time:
    """A time of day that fits for a care task, outside the quiet hours."""
    for clock in FITTING:
        soon = (datetime.combine(date.min, clock) + MARGIN).time()
        if not is_quiet(clock, quiet) and not is_quiet(soon, quiet):
            return clock
    return quiet.end


def fitting(day: date, quiet: Quiet, zone: ZoneInfo) -> datetime:
    """The moment of `day` at which a care task fits for a person in `zone`."""
    return at_local(day, fitting_time(quiet), zone)

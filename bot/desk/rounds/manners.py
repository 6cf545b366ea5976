"""The manners of messages to many: who is left out, and who gets it later, in their own zone."""

from collections.abc import Iterator, Mapping
from datetime import datetime, time, timedelta

from bot.model.dealer import Dealer, Quiet
from bot.model.person import Person
from bot.model.round import Candidate, LeftOut, Round, RoundKind
from bot.model.zones import zone
from bot.schedule.local import allowed, at_local, local_day


def left_out(kind: RoundKind, candidate: Candidate, dealer: Dealer, now: datetime) -> LeftOut | None:
    """Why somebody does not get a round of that kind; None where they do.

    A safety notice goes to all who may be written to; a recall also to those who said stop.
    """
    person = candidate.person
    if person.standing == "stopped" and kind != "recall":
        return "stopped"
    if person.standing == "blocked":
        return "blocked"
    if person.address is None or person.standing == "erased":
        return "no_chat"
    if kind != "reminder":
        return None
    return _for_now(person, candidate.last_bulk, dealer, now)


def _for_now(person: Person, last_bulk: datetime | None, dealer: Dealer, now: datetime) -> LeftOut | None:
    """Why somebody who may be written to does not get a reminder now."""
    if person.agreed_at is None:
        return "not_agreed"
    if person.paused_until is not None and person.paused_until > now:
        return "paused"
    if last_bulk is not None and now - last_bulk < timedelta(days=dealer.bulk.days):
        return "recent"
    return None


def leaves_at(round_: Round, zone_name: str, quiet: Quiet, share: float, now: datetime) -> datetime:
    """When the message to somebody in that zone leaves: as the round says, out of their quiet hours. It may lie in the
    past. `share` is the part of the round that goes before. Safety breaks quiet hours.
    """
    began = round_.started_at or now
    planned = _planned(round_, zone_name, share, began)
    if round_.kind != "reminder":
        return planned
    return allowed(max(planned, now), quiet, zone(zone_name))


def _planned(round_: Round, zone_name: str, share: float, began: datetime) -> datetime:
    """When the round wants it to leave, quiet hours aside."""
    timing = round_.timing
    where = zone(zone_name)
    match timing.how:
        case "local":
            clock = timing.clock or time(10)
            today = local_day(began, where)
            day = max(timing.day, today) if timing.day else today
            moment = at_local(day, clock, where)
            return moment if moment >= began else at_local(day + timedelta(days=1), clock, where)
        case "spread":
            return began + timedelta(hours=timing.hours or 0) * share
        case _:
            return began


def delayed(
    round_: Round, places: Mapping[tuple[str, time, time], int], now: datetime
) -> Iterator[tuple[str, datetime, int]]:
    """Zone, time and number of those whose quiet hours put the message off, if the round began now: soonest first."""
    if round_.kind != "reminder":
        return
    put_off: dict[tuple[str, datetime], int] = {}
    for (zone_name, start, end), count in places.items():
        planned = _planned(round_, zone_name, 0.0, now)
        leaves = allowed(planned, Quiet(start=start, end=end), zone(zone_name))
        if leaves > planned:
            put_off[zone_name, leaves] = put_off.get((zone_name, leaves), 0) + count
    yield from ((name, at, count) for (name, at), count in sorted(put_off.items(), key=lambda one: one[0][1]))

"""One tub's season: its journal and profile as `dosing.season` reads them."""

from collections import OrderedDict
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import dosing
from bot.model.dealer import Dealer
from bot.model.fact import (
    Added,
    CaseOpened,
    Entry,
    Filled,
    Paused,
    ReadingTaken,
    Refilled,
    Soaked,
    StartedUp,
    StepPassed,
    StripsOpened,
)
from bot.model.tub import Tub
from bot.schedule.journal import facts, filled_at, known_to_dosing, last, last_at
from dosing import season

BIOFILM = frozenset({"slime", "flakes"})
"""Reasons of cases that tell of a film in the pipes."""
_TELL = (ReadingTaken, Added, Soaked, StepPassed, Filled, Refilled, Paused, CaseOpened, StripsOpened)
"""Facts that change what is expected of the water."""
_REMEMBERED = 512
LEARNED = timedelta(days=365)
"""So far back a tub's ways are learned from, whatever water it held (common practice)."""
BELIEVED = 0.6
"""Share of what a test found from which on what is believed of the level agrees with it."""
TAUGHT = 4
"""Tests of a water from which on what it did in between narrows what a pad says."""


@dataclass(frozen=True, slots=True)
class Outlook:
    """What was expected of a tub's water when the newest fact came in, at `at`: when to test and when to change it, and
    when the first dose is due if nobody bathes (None without a card).
    """

    at: datetime
    test: season.Due
    refill: season.Due
    idle_at: datetime | None

    def moment(self, due: season.Due) -> datetime:
        """When something is due."""
        return self.at + timedelta(hours=due.hours)


_outlooks: OrderedDict[str, tuple[Tub, Dealer, tuple[Entry, ...], Outlook]] = OrderedDict()


def outlook_of(tub: Tub | None, dealer: Dealer, journal: Sequence[Entry]) -> Outlook | None:
    """What is expected of this tub's water by the standing `journal`; None before it can be said.

    It is computed when a fact comes in, not when somebody looks: the same facts give the same days, and asking again
    costs nothing.
    """
    telling = tuple(entry for entry in journal if isinstance(entry.fact, _TELL))
    if tub is None or not telling:
        return None
    known = _outlooks.get(tub.key)
    if known is not None and known[:3] == (tub, dealer, telling):
        _outlooks.move_to_end(tub.key)
        return known[3]
    at = max(entry.at for entry in telling)
    found = season_of(tub, dealer, journal, at)
    if found is None:
        return None
    idle = at + timedelta(hours=found.card.first_idle_hours) if found.card else None
    outlook = Outlook(at, found.test, found.refill, idle)
    _outlooks[tub.key] = (tub, dealer, telling, outlook)
    if len(_outlooks) > _REMEMBERED:
        _outlooks.popitem(last=False)
    return outlook


def season_of(tub: Tub | None, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> season.Season | None:
    """What is known of this tub's water and its ways by the standing `journal`; None before its volume, its sanitizer
    and a test of its water are known.
    """
    if tub is None or tub.volume is None or tub.sanitizer is None:
        return None
    if not _tests(journal):
        return None
    return season.look(described(tub, dealer, journal, now), _lived(journal, now))


def _lived(journal: Sequence[Entry], now: datetime) -> tuple[dosing.Past, ...]:
    """What a tub is learned from: a change of water changes neither its loss nor its bathers."""
    return known_to_dosing(journal, now, since=now - LEARNED)


def _tests(journal: Sequence[Entry]) -> int:
    """How many tests of this water are known."""
    start = filled_at(journal)
    tests = facts(journal, ReadingTaken, lambda fact: not fact.source)
    return sum(start is None or entry.at >= start for entry, _ in tests)


def season_with(
    tub: Tub, dealer: Dealer, before: Sequence[Entry], now: datetime, reading: dosing.Reading, without: Sequence[str]
) -> season.Season | None:
    """The season with a reading of this moment, its plans without some products; None while too little is known of
    this water for its past to say more than the reading does.
    """
    if tub.volume is None or tub.sanitizer is None:
        return None
    if not is_taught(before):
        return None
    here = described(tub, dealer, before, now)
    return season.look(replace(here, kit=here.kit.without(*without)), [*_lived(before, now), reading])


def wants_a_dose(tub: Tub | None, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> bool:
    """Whether the routine has a dose for now, though nobody bathed."""
    found = season_of(tub, dealer, journal, now) if started(journal) else None
    return found is not None and found.dose() is not None


def routine_goes_on(tub: Tub | None, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> bool:
    """Whether the routine has a dose right after a test: what is believed of the level then rests on enough tests, and
    does not gainsay this one.
    """
    found = season_of(tub, dealer, journal, now) if started(journal) and is_taught(journal) else None
    if found is None or found.now[found.tub.key].likely < BELIEVED * found.one.found:
        return False
    return found.dose() is not None


def is_taught(before: Sequence[Entry]) -> bool:
    """Whether enough tests of this water are known for its past to say more than a reading does."""
    return _tests(before) >= TAUGHT


def described(tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> season.Tub:
    """A tub as `dosing.season` takes it. AssertionError without a volume or a sanitizer."""
    assert tub.volume
    assert tub.sanitizer
    filled = filled_at(journal)
    source = last(journal, ReadingTaken, lambda fact: fact.source)
    visits = tub.bathers * tub.soaks_per_week if tub.bathers and tub.soaks_per_week is not None else None
    return season.Tub(
        volume=tub.volume,
        sanitizer=tub.sanitizer,
        kit=tub.kit or dealer.kit,
        scale=tub.scale or dealer.scale,
        limits=dosing.limits_for(dealer.locale),
        temperature=_temperature(journal),
        purifier=tub.purifier or "none",
        source=dosing.Reading(values=source[1].values, method=source[1].method) if source else None,
        bathers_a_week=visits,
        bottles=tuple(_hours(entry.at, now) for entry, _ in facts(journal, StripsOpened)),
        filled_hours=_hours(filled, now) if filled else None,
        refill_days=float(dealer.intervals.refill),
        test_days=float(dealer.intervals.test),
        biofilm=_biofilm(journal),
        away=_away(journal, now),
    )


def _hours(moment: datetime, now: datetime) -> float:
    return max(0.0, (now - moment).total_seconds() / 3600.0)


def _temperature(journal: Sequence[Entry]) -> float:
    """As it was read last; else as hot tubs are usually kept (common practice)."""
    read = last(journal, ReadingTaken, lambda fact: not fact.source and "temp" in fact.values)
    said = read[1].values["temp"].low if read else None
    return min(max(said, 5.0), 45.0) if said is not None else 38.0


def _biofilm(journal: Sequence[Entry]) -> bool:
    """Whether a film in the pipes was met in this water or in one of the two before it."""
    fills = [entry.at for entry, _ in facts(journal, Filled)]
    fills += [entry.at for entry, _ in facts(journal, Refilled, lambda fact: fact.litres is None)]
    since = sorted(fills)[-3] if len(fills) >= 3 else None
    cases = facts(journal, CaseOpened, lambda fact: bool(BIOFILM & set(fact.reasons)))
    return any(since is None or entry.at >= since for entry, _ in cases)


def _away(journal: Sequence[Entry], now: datetime) -> season.Away | None:
    """The holiday that somebody is on."""
    said = last(journal, Paused)
    if said is None or said[1].until is None or said[1].until <= now:
        return None
    return season.Away(-_hours(said[0].at, now) or -0.01, (said[1].until - now).total_seconds() / 3600.0)


def started(journal: Sequence[Entry]) -> bool:
    """Whether the start-up of the water is over; so it is too where nobody ever told of one."""
    filled, done = filled_at(journal), last_at(journal, StartedUp)
    return filled is None or (done is not None and done >= filled)

"""Who needs somebody: what is the matter with an owner and their tub, by the journal and the clock."""

from collections import Counter
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Literal, get_args

from bot.desk.rounds.whom import out_of_range
from bot.model.dealer import Dealer
from bot.model.fact import CaseOpened, ReadingTaken, StartedUp
from bot.model.known import Case
from bot.model.sight import Sight
from bot.model.tub import Tub
from bot.schedule.care import water_days, water_since
from bot.schedule.cases import case_named
from bot.schedule.journal import last, last_at, standing
from bot.schedule.reminders import SILENCE, falls_due

Matter = Literal[
    "danger", "waiting", "out_of_range", "silent", "unfinished", "refill", "cartridge", "unreached", "not_joined"
]
MATTERS: tuple[Matter, ...] = get_args(Matter)
"""What can be the matter, the gravest first."""
REMINDED = len(SILENCE) + 1
"""So many reminders without an answer, and the bot asks seldom or no more."""


@dataclass(frozen=True, slots=True)
class Needs:
    """An owner and tub with which something is the matter: each matter and since when, where that is known."""

    sight: Sight
    matters: dict[Matter, datetime | None]

    @property
    def gravest(self) -> Matter:
        """The gravest of them."""
        return min(self.matters, key=MATTERS.index)

    def slim(self) -> "Needs":
        """The same without the journals: of a large house many are kept at once."""
        return replace(self, sight=Sight(person=self.sight.person, tub=self.sight.tub))


def needing(sights: Iterable[Sight], dealer: Dealer, now: datetime) -> list[Needs]:
    """Those with whom something is the matter."""
    return [Needs(sight, matters) for sight in sights if (matters := matters_of(sight, dealer, now))]


def in_order(found: Iterable[Needs], now: datetime) -> list[Needs]:
    """The gravest matter first, then whoever waits longest."""

    def urgency(one: Needs) -> tuple[int, datetime, str]:
        return MATTERS.index(one.gravest), one.matters[one.gravest] or now, one.sight.person.key

    return sorted(found, key=urgency)


def counts(found: Iterable[Needs]) -> dict[Matter, int]:
    """How often each is the matter, the gravest first."""
    met = Counter(matter for one in found for matter in one.matters)
    return {matter: met[matter] for matter in MATTERS if met[matter]}


def matters_of(sight: Sight, dealer: Dealer, now: datetime) -> dict[Matter, datetime | None]:
    """What is the matter, each with since when. Whoever wants no messages is counted for their open cases alone, and
    somebody away for what does not wait until they are back.
    """
    person, tub = sight.person, sight.tub
    found: dict[Matter, datetime | None] = {}
    for case in sight.cases:
        matter, since = _case(case)
        if matter and (matter not in found or (since and since < (found[matter] or now))):
            found[matter] = since
    if person.standing == "blocked":
        found["unreached"] = None
    elif person.address is None and person.standing == "active":
        found["not_joined"] = None
    if tub is None or person.standing not in ("active", "blocked") or person.address is None:
        return found
    away = person.paused_until is not None and person.paused_until > now
    return found | _of_water(sight, tub, dealer, now, away=away)


def _case(case: Case) -> tuple[Matter | None, datetime | None]:
    """A danger until it is cleared; another case while its owner waits."""
    fact = case.entry.fact
    assert isinstance(fact, CaseOpened)
    if fact.klass == "danger":
        return "danger", case.entry.at
    state = case_named(standing(case.journal), fact.case)
    if state is None:
        return "waiting", case.entry.at
    return ("waiting", state.waits) if state.waits and state.closed is None else (None, None)


def _of_water(sight: Sight, tub: Tub, dealer: Dealer, now: datetime, *, away: bool) -> dict[Matter, datetime | None]:
    found: dict[Matter, datetime | None] = {}
    journal, limits = standing(sight.journal), dealer.attention
    started = last_at(journal, StartedUp)
    test = last(journal, ReadingTaken, lambda fact: not fact.source)
    since = water_since(journal)
    begun = since or sight.person.agreed_at
    if started is None and test is None and begun and now - begun >= timedelta(days=limits.unfinished):
        found["unfinished"] = begun
    if since is None:
        return found
    if test and test[0].at >= since and out_of_range(test[1], tub, dealer):
        found["out_of_range"] = test[0].at
    if away:
        return found
    heard = sight.heard or since
    if now - heard >= timedelta(days=limits.silent) or sight.unanswered >= REMINDED:
        found["silent"] = heard
    grace = timedelta(days=limits.overdue)
    refill = since + timedelta(days=water_days(tub, dealer, journal, now))
    if refill + grace <= now:
        found["refill"] = refill
    day = falls_due("cartridge", sight.person, tub, dealer, journal, now)
    if day and day + grace <= now.date():
        found["cartridge"] = now - (now.date() - day)
    return found

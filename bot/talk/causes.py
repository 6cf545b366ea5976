"""Why water or a tub is as it is: the usual causes of a symptom, first those that this tub's own journal speaks for."""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.model.dealer import Dealer
from bot.model.fact import Added, Entry, FilterCared, ReadingTaken, Soaked
from bot.model.tub import Tub
from bot.schedule.care import water_days
from bot.schedule.journal import facts, filled_at, last
from bot.talk.names import product_name
from bot.talk.words import Line, line
from dosing import Said, limits_for

FRESH = timedelta(days=7)
"""An older reading says little of today's water (common practice)."""
RINSE_DAYS = 14
BATHERS, BATHING_DAYS = 4, 3
"""So many people in so few days load the water (common practice)."""
NEW_WATER_DAYS = 4
SHOWN = 3
"""How many causes are named: as many as somebody will look at."""


@dataclass(frozen=True, slots=True)
class Seen:
    """What the journal says for a cause: so many (days, people), a reading, or a product."""

    count: int | None = None
    value: float | None = None
    product: str | None = None


@dataclass(frozen=True, slots=True)
class Cause:
    """A likely cause; `seen` where the journal speaks for it."""

    name: str
    seen: Seen | None = None

    @property
    def line(self) -> Line:
        """The cause as a noun phrase."""
        if self.seen is None:
            return line(f"cause.{self.name}")
        said: dict[str, object] = {}
        if self.seen.value is not None:
            said["value"] = self.seen.value
        if self.seen.product is not None:
            said["product"] = product_name(self.seen.product)
        return line(f"cause.{self.name}.seen", count=self.seen.count, **said)


@dataclass(frozen=True, slots=True)
class Signs:
    """What is known of a tub at this moment."""

    tub: Tub | None
    dealer: Dealer
    journal: Sequence[Entry]
    now: datetime

    def said(self, *keys: str) -> Said | None:
        """The newest reading of one of these keys that is not too old."""
        found = last(
            self.journal, ReadingTaken, lambda fact: not fact.source and any(key in fact.values for key in keys)
        )
        if found is None or self.now - found[0].at > FRESH:
            return None
        return next(found[1].values[key] for key in keys if key in found[1].values)

    def days_since(self, moment: datetime | None) -> int | None:
        """Whole days since a moment."""
        return None if moment is None else (self.now - moment).days

    @property
    def limits(self) -> Mapping[str, tuple[float, float]]:
        """What is fine at this dealer's, by reading key."""
        own = limits_for(self.dealer.locale)
        return {"fc": own.chlorine_fine, "br": own.bromine_fine, "ph": own.ph_fine, "ch": own.hardness_fine}


Evidence = Callable[[Signs], Seen | None]
"""What the journal says for a cause; None: nothing."""


def _sanitizer_low(signs: Signs) -> Seen | None:
    key = "br" if signs.tub and signs.tub.sanitizer == "bromine" else "fc"
    said = signs.said(key)
    low = said is not None and said.high is not None and said.high < signs.limits[key][0]
    return Seen(value=said.high) if said and low else None


def _above(key: str, limit: float | None = None) -> Evidence:
    def evidence(signs: Signs) -> Seen | None:
        said, most = signs.said(key), limit if limit is not None else signs.limits[key][1]
        return Seen(value=said.low) if said and said.low is not None and said.low > most else None

    return evidence


def _below(key: str) -> Evidence:
    def evidence(signs: Signs) -> Seen | None:
        said, least = signs.said(key), signs.limits[key][0]
        return Seen(value=said.high) if said and said.high is not None and said.high < least else None

    return evidence


def _filter(signs: Signs) -> Seen | None:
    found = last(signs.journal, FilterCared)
    days = signs.days_since(found[0].at if found else filled_at(signs.journal))
    return Seen(count=days) if days is not None and days >= RINSE_DAYS else None


def _water_age(signs: Signs) -> int | None:
    return signs.days_since(filled_at(signs.journal))


def _old_water(signs: Signs) -> Seen | None:
    days = _water_age(signs)
    if days is None or signs.tub is None:
        return None
    return Seen(count=days) if days >= water_days(signs.tub, signs.dealer, signs.journal, signs.now) else None


def _new_water(signs: Signs) -> Seen | None:
    days = _water_age(signs)
    return Seen() if days is not None and days <= NEW_WATER_DAYS else None


def _bathers(signs: Signs) -> Seen | None:
    since = signs.now - timedelta(days=BATHING_DAYS)
    number = sum(fact.bathers for entry, fact in facts(signs.journal, Soaked) if entry.at >= since)
    return Seen(count=number) if number >= BATHERS else None


def _added(signs: Signs) -> Seen | None:
    found = last(signs.journal, Added, lambda fact: fact.product is not None)
    if found is None or signs.now - found[0].at > timedelta(days=1):
        return None
    return Seen(product=found[1].product)


def _well(signs: Signs) -> Seen | None:
    return Seen() if signs.tub and signs.tub.water_source == "well" else None


EVIDENCE: Mapping[str, Evidence] = {
    "sanitizer_low": _sanitizer_low,
    "ph_high": _above("ph"),
    "ph_low": _below("ph"),
    "alkalinity_high": _above("ta", 120.0),
    "hard_water": _above("ch"),
    "soft_water": _below("ch"),
    "sanitizer_high": _above("fc", 10.0),
    "filter": _filter,
    "old_water": _old_water,
    "new_water": _new_water,
    "bathers": _bathers,
    "added": _added,
    "well": _well,
}
"""Causes that a journal can speak for; the others (`soap`, `air`) are named without."""


ONLY_IF_SEEN = frozenset({"added", "new_water", "well"})
"""Causes that are named only where the journal speaks for them."""


def likely(names: Sequence[str], signs: Signs) -> tuple[Cause, ...]:
    """The likeliest causes: those that the journal speaks for, then the usual ones, each in the order given."""
    found = [Cause(name, EVIDENCE[name](signs) if name in EVIDENCE else None) for name in names]
    seen = [cause for cause in found if cause.seen is not None]
    usual = [cause for cause in found if cause.seen is None and cause.name not in ONLY_IF_SEEN]
    return tuple([*seen, *usual][:SHOWN])

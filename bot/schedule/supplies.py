"""How long the packs of a tub's products will last, by what was added and how much a pack holds."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from bot.model.dealer import Dealer
from bot.model.fact import Added, Entry, StartedUp
from bot.model.trail import SupplySaid
from bot.model.tub import Tub
from bot.schedule.journal import facts, last_at

WEEK = timedelta(weeks=1)
LOOKS_BACK, AT_LEAST = 8 * WEEK, 2 * WEEK
"""Over which time use is averaged, and the shortest (common practice)."""
DAYS_OF_USE = 3
"""On so many days a product was used before its use can be foreseen (common practice)."""


@dataclass(frozen=True, slots=True)
class Supply:
    """A product that a tub uses. `number` packs were had, the one in use or in store included; `left` grams of them."""

    product: str
    pack: float
    number: int
    left: float
    a_week: float
    """Grams."""
    runs_out: datetime
    wanted: bool
    """Whether its people want another one put aside."""
    offered: bool
    """Whether they were asked about this pack."""

    @property
    def packs(self) -> int:
        """How many packs four weeks of use take, one at least."""
        return max(1, math.ceil(4 * self.a_week / self.pack - 1e-9))


def supplies_of(tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime) -> list[Supply]:
    """The dealer's products that this tub uses steadily, by the standing `journal`: the one that runs out first before
    the others. What went in at a start-up counts as used, but says nothing about the weeks to come.
    """
    kit = tub.kit or dealer.kit
    found = []
    for product in dealer.kit.products:
        own = kit.named(product.key)
        if own is not None and own.pack_g:
            supply = _supply(product.key, own.pack_g, journal, now)
            if supply:
                found.append(supply)
    return sorted(found, key=lambda one: (one.runs_out, one.product))


def _supply(product: str, pack: float, journal: Sequence[Entry], now: datetime) -> Supply | None:
    poured = [
        (entry.at, fact.grams)
        for entry, fact in facts(journal, Added, lambda fact: fact.product == product)
        if fact.grams
    ]
    if not poured:
        return None
    started = last_at(journal, StartedUp)
    since = max(now - LOOKS_BACK, started or poured[0][0])
    steady = [(at, grams) for at, grams in poured if at >= since and at != started]
    if len({at.date() for at, _ in steady}) < DAYS_OF_USE:
        return None
    a_week = sum(grams for _, grams in steady) / (max(now - since, AT_LEAST) / WEEK)
    used = sum(grams for _, grams in poured)
    said = [fact for _, fact in facts(journal, SupplySaid, lambda fact: fact.product == product)]
    number = max(1, math.ceil(used / pack - 1e-9), *(fact.number for fact in said if fact.what == "more"))
    of_this = {fact.what for fact in said if fact.number == number}
    left = number * pack - used
    return Supply(
        product, pack, number, left, a_week, now + WEEK * (left / a_week), "wanted" in of_this, bool(of_this - {"more"})
    )

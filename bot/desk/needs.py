"""What owners will soon need from the shop, by what they have added and what a pack holds."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.desk.leaving import csv_of
from bot.model.dealer import Dealer
from bot.model.person import Person
from bot.model.round import Candidate
from bot.model.tub import Tub
from bot.schedule.journal import standing
from bot.schedule.supplies import WEEK, Supply, supplies_of
from bot.talk.names import product_name
from bot.talk.words import Line, Words, line, lines

FIELDS = ("name", "phone", "email", "model", "serial")


@dataclass(frozen=True, slots=True)
class Need:
    """A product of a tub that runs out or is wanted, and one of its people."""

    person: Person
    tub: Tub
    supply: Supply


class Gathering:
    """Gathers needs a page of owners at a time; a tub with several people counts once."""

    def __init__(self, dealer: Dealer, now: datetime, weeks: int) -> None:
        self._dealer, self._now, self._until = dealer, now, now + weeks * WEEK
        self._seen: set[str] = set()
        self._needs: list[Need] = []

    def add(self, page: Iterable[Candidate]) -> None:
        """Look at some more."""
        for one in page:
            if one.tub is None or one.tub.key in self._seen:
                continue
            self._seen.add(one.tub.key)
            for supply in supplies_of(one.tub, self._dealer, standing(one.journal), self._now):
                if supply.wanted or supply.runs_out <= self._until:
                    self._needs.append(Need(one.person, one.tub, supply))

    def needs(self) -> list[Need]:
        """By product, as the dealer's file has them, who runs out first before the others."""
        places = {product.key: place for place, product in enumerate(self._dealer.kit.products)}
        return sorted(self._needs, key=lambda one: (places[one.supply.product], one.supply.runs_out, one.tub.key))


def told(needs: Sequence[Need], dealer: Dealer, weeks: int) -> Line:
    """How many packs of what, or why that can't be said."""
    if not any(product.pack_g for product in dealer.kit.products):
        return line("needs.no_packs")
    if not needs:
        return line("needs.none", count=weeks)
    by_product: dict[str, list[Supply]] = {}
    for need in needs:
        by_product.setdefault(need.supply.product, []).append(need.supply)
    return lines(
        line("needs.head", count=weeks),
        lines(*(_of_product(product, supplies) for product, supplies in by_product.items()), gap="\n"),
    )


def _of_product(product: str, supplies: Sequence[Supply]) -> Line:
    wanted = sum(supply.wanted for supply in supplies)
    said = line(
        "needs.product", count=len(supplies), product=product_name(product), packs=sum(one.packs for one in supplies)
    )
    return lines(said, line("needs.wanted", wanted=wanted) if wanted else None, gap=" ")


def needs_csv(needs: Iterable[Need], words: Words) -> bytes:
    """A row for each tub and product."""
    titles = [
        *(words.text(line(f"needs.title.{name}")) for name in ("product", "packs", "runs_out", "wanted")),
        *(words.text(line(f"intake.field.{name}")) for name in FIELDS),
        *(words.text(line(f"needs.title.{name}")) for name in ("left", "a_week", "pack")),
    ]
    rows = (
        (
            words.text(product_name(one.supply.product)),
            one.supply.packs,
            one.supply.runs_out.date(),
            words.text(line("yes")) if one.supply.wanted else "",
            one.person.name,
            one.person.phones[0] if one.person.phones else "",
            one.person.email,
            one.tub.model or "",
            one.tub.serial or "",
            round(one.supply.left),
            round(one.supply.a_week, 1),
            round(one.supply.pack),
        )
        for one in needs
    )
    return csv_of(titles, rows)

"""What an owner tells that was done, made into facts of the journal, with whatever has to be asked first."""

from collections.abc import Generator
from dataclasses import dataclass, replace
from datetime import datetime, timedelta
from typing import Any

from pydantic import TypeAdapter

from bot.model.fact import Added, CartridgeChanged, Filled, FilterCared, Noted, Plain, Refilled, Soaked
from bot.talk.amounts import mass
from bot.talk.flow import Again, Ask, Doing, Heard, Option, Reads, Start
from bot.talk.names import product_label, product_name
from bot.talk.poured import WEIGHTS, form_of, grams_of, poured
from bot.talk.understand import count
from bot.talk.understand.events import EventHeard
from bot.talk.words import Line, Span, line
from dosing import Kit, Product

EVENTS: TypeAdapter[tuple[EventHeard, ...]] = TypeAdapter(tuple[EventHeard, ...])
USUAL_MINUTES = 30.0
"""How long a soak lasts where nobody said (common practice)."""
MOST_GRAMS_PER_1000L = 2500.0
"""More of one product was mistyped: several times what any start-up takes (common practice)."""
SUBSTANCES = {
    "ph_down": ("sodium_bisulfate", "hydrochloric_acid", "sulfuric_acid"),
    "ph_up": ("sodium_carbonate", "sodium_hydroxide"),
    "alkalinity_up": ("sodium_bicarbonate",),
    "hardness_up": ("calcium_chloride",),
    "chlorine": (
        "sodium_dichlor",
        "sodium_dichlor_anhydrous",
        "sodium_hypochlorite",
        "calcium_hypochlorite",
        "trichlor",
    ),
    "bromine": ("sodium_bromide", "bcdmh", "dbdmh"),
    "shock": ("potassium_monopersulfate", "sodium_dichlor", "sodium_hypochlorite", "calcium_hypochlorite"),
}
"""What each kind of product is mainly made of."""
PLAIN: dict[str, Plain] = {
    "filled": Filled(),
    "water_since": Refilled(),
    "filter_rinse": FilterCared(what="rinse"),
    "filter_soak": FilterCared(what="soak"),
    "filter_change": FilterCared(what="replace"),
    "cartridge_change": CartridgeChanged(),
}
"""Events that hold nothing but that they happened."""
FRESH = timedelta(days=2)
"""Water that is in for longer is past its first day (common practice)."""


@dataclass(frozen=True, slots=True)
class Told:
    """An event as it is to be written down, and how it is said back. `product` is what went in, where it is known."""

    fact: Plain
    at: datetime
    said: Line
    product: Product | None = None

    def moved(self, at: datetime) -> "Told":
        """The same at another time."""
        said = Line(
            self.said.key, (*(pair for pair in self.said.values if pair[0] != "at"), ("at", at)), self.said.count
        )
        return replace(self, at=at, said=said)

    def fresh_water(self, now: datetime) -> bool:
        """Whether the tub is full of fresh water now."""
        whole = isinstance(self.fact, Filled) or (isinstance(self.fact, Refilled) and self.fact.litres is None)
        return whole and now - self.at <= FRESH

    def weighed(self, grams: float, units: str) -> "Told":
        """The same with another amount of its product."""
        assert isinstance(self.fact, Added)
        assert self.product
        return added(self.product, grams, self.at, units, shock=self.fact.shock)


def kit_of(start: Start) -> Kit:
    """The products at hand."""
    return (start.tub.kit if start.tub else None) or start.dealer.kit


def is_plain(event: EventHeard, kit: Kit) -> bool:
    """Whether an event can be written down as told, without a question."""
    match event.kind:
        case "addition":
            return len(fitting(event, kit)) < 2
        case "soak":
            return event.bathers is not None
    return event.kind in PLAIN or event.kind == "refilled"


def told_event(start: Start, at: str, event: EventHeard, *, asks: bool) -> Generator[Doing, Any, Told]:
    """The event as a fact. `at` is the prefix of its questions; without `asks` nothing is asked of a plain one."""
    match event.kind:
        case "addition":
            return (yield from _addition(start, at, event, asks=asks))
        case "soak":
            return (yield from _soak(at, event))
        case "drained" | "refilled" if asks:
            return (yield from _new_water(start, at, event))
        case "refilled":
            return Told(Refilled(), event.at, line("log.refilled", at=event.at))
        case "cartridge_either":
            return (yield from _which_cartridge(at, event))
    fact = PLAIN.get(event.kind) or Noted(text=event.evidence)
    return Told(fact, event.at, line(f"log.{event.kind}", at=event.at))


def added(product: Product, grams: float | None, at: datetime, units: str, *, shock: bool) -> Told:
    """So much of a product went in; None where nobody knows how much."""
    name = product_name(product.key)
    if grams is None:
        return Told(Added(product=product.key, shock=shock), at, line("log.added_some", product=name, at=at), product)
    fact = Added(product=product.key, grams=grams, substances=product.split(grams), shock=shock)
    return Told(fact, at, line("log.added", product=name, at=at, amount=mass(grams, units)), product)


def _addition(start: Start, at: str, event: EventHeard, *, asks: bool) -> Generator[Doing, Any, Told]:
    product = yield from _product(at, event, kit_of(start))
    shock = event.role == "shock"
    if product is None:
        fact = Added(product=event.role, grams=_believed(event.grams, start), shock=shock)
        return Told(fact, event.at, line("log.added_some", product=product_name(event.role), at=event.at))
    grams = event.grams
    if grams is None and event.amount is not None and event.measure is not None:
        grams = grams_of(event.amount, event.measure, product)
    grams = _believed(grams, start)
    if grams is None and asks:
        grams = yield from ask_grams(f"{at}grams", product, most_grams(start))
    return added(product, grams, event.at, start.person.units, shock=shock)


def _believed(grams: float | None, start: Start) -> float | None:
    return None if grams is None or grams > most_grams(start) else grams


def most_grams(start: Start) -> float:
    """More grams than anybody puts into this tub."""
    return MOST_GRAMS_PER_1000L * ((start.tub.volume if start.tub else None) or 2000.0) / 1000.0


def ask_grams(key: str, product: Product, most: float) -> Generator[Doing, Any, float | None]:
    """How much of a product went in; None where nobody knows."""
    answer = yield Ask(
        key,
        line("log.how_much", product=product_name(product.key)),
        (Option("unknown", line("button.dont_know")),),
        _reads_grams(product, most),
        name="grams",
    )
    return None if answer == "unknown" else float(str(answer))


def _product(at: str, event: EventHeard, kit: Kit) -> Generator[Doing, Any, Product | None]:
    """Which product of the kit is meant; asked where it may be more than one."""
    products = fitting(event, kit)
    if len(products) < 2:
        return products[0] if products else None
    options = tuple(Option(product.key, product_label(product.key)) for product in products)
    chosen = yield Ask(
        f"{at}product",
        line("log.which_product", evidence=event.evidence),
        (*options, Option("other", line("log.other"))),
        name="product",
        columns=1,
    )
    return kit.named(str(chosen))


def fitting(event: EventHeard, kit: Kit) -> list[Product]:
    """The products of the kit that an addition may mean. What is weighed is not a liquid where there is a choice."""
    holding = kit.holding(SUBSTANCES.get(event.role or "", ()))
    form = "liquid" if event.measure in ("millilitre", "litre") else form_of(event.evidence)
    if form == "chlorine_free":
        return [product for product in holding if product.main == "potassium_monopersulfate"]
    if form is None and (event.measure in WEIGHTS or event.grams):
        return [product for product in holding if product.form != "liquid"] or list(holding)
    return [product for product in holding if form is None or product.form == form] or list(holding)


def _reads_grams(product: Product, most: float) -> Reads:
    def read(text: str) -> Heard | Again | None:
        grams = poured(text, 0.0, product)
        if not grams:
            return None
        return Heard(round(grams, 2)) if grams <= most else Again(line("shocked.too_much"))

    return read


def _soak(at: str, event: EventHeard) -> Generator[Doing, Any, Told]:
    bathers = event.bathers
    if bathers is None:
        options = tuple(Option(str(number), line("pads.value", value=number)) for number in (1, 2, 3, 4, 6))
        answer = yield Ask(f"{at}bathers", line("soaked.bathers"), options, _reads_people, name="bathers", columns=3)
        bathers = int(str(answer))
    minutes = event.minutes or USUAL_MINUTES
    said = line("log.soaked", count=bathers, at=event.at, span=Span(minutes))
    return Told(Soaked(bathers=bathers, minutes=minutes), event.at, said)


def _reads_people(text: str) -> Heard | None:
    number = count(text)
    return None if number is None else Heard(str(number))


def _new_water(start: Start, at: str, event: EventHeard) -> Generator[Doing, Any, Told]:
    whole = yield Ask(
        f"{at}whole",
        line("log.whole"),
        (
            Option("whole", line("log.whole.all")),
            Option("half", line("log.whole.half")),
            Option("empty", line("log.whole.empty")),
        ),
        name="whole",
    )
    if whole == "empty":
        return Told(Noted(text=event.evidence), event.at, line("log.drained", at=event.at))
    if whole == "half":
        volume = start.tub.volume if start.tub else None
        fact = Refilled(litres=volume / 2) if volume else Noted(text=event.evidence)
        return Told(fact, event.at, line("log.part_refilled", at=event.at))
    return Told(Refilled(), event.at, line("log.refilled", at=event.at))


def _which_cartridge(at: str, event: EventHeard) -> Generator[Doing, Any, Told]:
    which = yield Ask(
        f"{at}cartridge",
        line("log.which_cartridge"),
        (Option("water", line("log.water_cartridge")), Option("filter", line("log.filter_element"))),
        name="cartridge",
        columns=1,
    )
    if which == "water":
        return Told(CartridgeChanged(), event.at, line("log.cartridge_change", at=event.at))
    return Told(FilterCared(what="replace"), event.at, line("log.filter_change", at=event.at))

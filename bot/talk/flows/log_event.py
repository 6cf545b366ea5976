"""What an owner tells that was done: said back once, then written down with its own time."""

from collections.abc import Generator
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from pydantic import TypeAdapter

from bot.model.fact import Added, CartridgeChanged, Filled, FilterCared, Noted, Plain, Refilled, Soaked
from bot.talk.amounts import mass
from bot.talk.flow import Ask, Doing, Flow, Heard, Next, Option, Reads, Record, Say, Start, flow
from bot.talk.names import product_name
from bot.talk.poured import form_of, grams_of, poured
from bot.talk.understand import count
from bot.talk.understand.events import EventHeard
from bot.talk.words import Line, Span, line, lines
from dosing import Kit, Product

EVENTS: TypeAdapter[tuple[EventHeard, ...]] = TypeAdapter(tuple[EventHeard, ...])
USUAL_MINUTES = 30.0
"""How long a soak lasts where nobody said (common practice)."""
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
    "filter_rinse": FilterCared(what="rinse"),
    "filter_soak": FilterCared(what="soak"),
    "filter_change": FilterCared(what="replace"),
    "cartridge_change": CartridgeChanged(),
}
"""Events that hold nothing but that they happened."""


@dataclass(frozen=True, slots=True)
class Told:
    """An event as it is to be written down, and how it is said back."""

    fact: Plain
    at: datetime
    said: Line
    fresh_water: bool = False


@flow("log_event")
def log_event(start: Start) -> Flow:
    """Args: `events`, what was told; `then`, the flow that answers the rest of the text, and its args. With `then` only
    what is plain as told is written down: nobody is kept from an answer by questions about the past.
    """
    told: list[Told] = []
    then = start.args.get("then")
    for place, event in enumerate(EVENTS.validate_python(start.args["events"])):
        if then and not is_plain(event, kit_of(start)):
            continue
        if then and event.kind == "refilled":
            told.append(Told(Refilled(), event.at, line("log.refilled", at=event.at)))
            continue
        told.append((yield from _told(start, f"{place}.", event)))
    if told and then:
        yield from _write_down_at_once(told)
    elif told:
        yield from _write_down(told)
    if isinstance(then, dict):
        args = then["args"]
        assert isinstance(args, dict)
        return Next(str(then["flow"]), args)
    if any(one.fresh_water for one in told):
        return (yield from _fresh_water())
    return None


def kit_of(start: Start) -> Kit:
    """The products at hand."""
    return (start.tub.kit if start.tub else None) or start.dealer.kit


def is_plain(event: EventHeard, kit: Kit) -> bool:
    """Whether an event can be written down as told, without a question."""
    match event.kind:
        case "addition":
            fitting = _fitting(event, kit)
            known = len(fitting) == 1 and event.amount is not None and event.measure is not None
            return known and grams_of(event.amount or 0.0, event.measure or "", fitting[0]) is not None
        case "soak":
            return event.bathers is not None
    return event.kind in PLAIN or event.kind == "refilled"


def _write_down(told: list[Told]) -> Generator[Doing, Any, None]:
    items = lines(*(one.said for one in told), gap="\n")
    right = yield Ask(
        "right",
        line("log.right", items=items),
        (Option("yes", line("button.yes")), Option("no", line("button.no"))),
        name="log",
    )
    if right == "no":
        yield Say(line("log.nothing"))
        return
    for place, one in enumerate(told):
        yield Record(f"{place}.record", one.fact, one.at)
    yield Say(line("log.noted"))


def _write_down_at_once(told: list[Told]) -> Generator[Doing, Any, None]:
    """Write down what came with readings, and say so: the answer to the readings comes first."""
    for place, one in enumerate(told):
        yield Record(f"{place}.record", one.fact, one.at)
    yield Say(line("log.counted", items=lines(*(one.said for one in told), gap="\n")))


def _told(start: Start, at: str, event: EventHeard) -> Generator[Doing, Any, Told]:
    match event.kind:
        case "addition":
            return (yield from _addition(start, at, event))
        case "soak":
            return (yield from _soak(at, event))
        case "drained" | "refilled":
            return (yield from _new_water(start, at, event))
        case "cartridge_either":
            return (yield from _which_cartridge(at, event))
    if event.kind not in PLAIN:
        return Told(Noted(text=event.evidence), event.at, line("log.topped_up", at=event.at))
    said = line(f"log.{event.kind}", at=event.at)
    return Told(PLAIN[event.kind], event.at, said, fresh_water=event.kind == "filled")


def _addition(start: Start, at: str, event: EventHeard) -> Generator[Doing, Any, Told]:
    product = yield from _product(at, event, kit_of(start))
    shock = event.role == "shock"
    if product is None:
        fact = Added(product=event.role, grams=event.grams, shock=shock)
        return Told(fact, event.at, line("log.added_some", at=event.at, product=product_name(event.role)))
    grams = event.grams
    if grams is None and event.amount is not None and event.measure is not None:
        grams = grams_of(event.amount, event.measure, product)
    if grams is None:
        answer = yield Ask(
            f"{at}grams",
            line("log.how_much", product=product_name(product.key)),
            (Option("unknown", line("button.dont_know")),),
            _reads_grams(product),
            name="grams",
        )
        grams = None if answer == "unknown" else float(str(answer))
    if grams is None:
        said = line("log.added_some", at=event.at, product=product_name(product.key))
        return Told(Added(product=product.key, shock=shock), event.at, said)
    added = Added(product=product.key, grams=grams, substances=product.split(grams), shock=shock)
    weighed = mass(grams, start.person.units)
    return Told(added, event.at, line("log.added", at=event.at, product=product_name(product.key), amount=weighed))


def _product(at: str, event: EventHeard, kit: Kit) -> Generator[Doing, Any, Product | None]:
    """Which product of the kit is meant; asked where it may be more than one."""
    fitting = _fitting(event, kit)
    if len(fitting) < 2:
        return fitting[0] if fitting else None
    options = tuple(Option(product.key, product_name(product.key)) for product in fitting)
    chosen = yield Ask(
        f"{at}product",
        line("log.which_product", evidence=event.evidence),
        (*options, Option("other", line("log.other"))),
        name="product",
        columns=1,
    )
    return kit.named(str(chosen))


def _fitting(event: EventHeard, kit: Kit) -> list[Product]:
    """The products of the kit that an addition may mean."""
    holding = kit.holding(SUBSTANCES.get(event.role or "", ()))
    form = "liquid" if event.measure in ("millilitre", "litre") else form_of(event.evidence)
    if form == "chlorine_free":
        return [product for product in holding if product.main == "potassium_monopersulfate"]
    return [product for product in holding if form is None or product.form == form] or list(holding)


def _reads_grams(product: Product) -> Reads:
    def read(text: str) -> Heard | None:
        grams = poured(text, 0.0, product)
        return Heard(round(grams, 2)) if grams else None

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
    return Told(Refilled(), event.at, line("log.refilled", at=event.at), fresh_water=True)


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


def _fresh_water() -> Generator[Doing, Any, Next | None]:
    begin = yield Ask(
        "start_up",
        line("log.fresh_water"),
        (Option("yes", line("log.start_up")), Option("later", line("round.test_later"))),
        name="start_up",
    )
    return Next("start_up") if begin == "yes" else None

"""Doses that one of the dealer's people names in their own words: checked before they go out, never changed."""

from datetime import datetime

from bot.model.dealer import Dealer
from bot.talk.bench import Bench
from bot.talk.card import Story
from bot.talk.flows.told_events import fitting
from bot.talk.poured import grams_of
from bot.talk.understand import EventHeard, doses, duration, events, normalise
from dosing import Kit, Objection, Product, Proposed

NOT_HERE = frozenset({"reading_missing", "sanitizer_missing"})
"""What a plan needs, and a person who knows the tub may do without."""
ENOUGH = 15.0
"""Minutes named beside two products that count as a wait between them."""


def objections_to(story: Story, text: str, dealer: Dealer, now: datetime) -> tuple[Objection, ...]:
    """What speaks against the doses in a text to the owner of a case; empty where it names none."""
    if story.tub is None:
        return ()
    bench = Bench(story.tub, dealer, story.journal, now)
    proposed = tuple(
        Proposed(f"{product.key}_{number}", product.key, grams)
        for number, (product, grams) in enumerate(_weighed(text, bench.kit, now), 1)
    )
    if not proposed:
        return ()
    together = (duration(text) or 0.0) < ENOUGH
    found = bench.foreseen(proposed, at_once=together).objections
    return tuple(objection for objection in found if objection.code not in NOT_HERE)


def told_additions(text: str, kit: Kit, now: datetime) -> list[tuple[Product, float | None, datetime]]:
    """The products of the kit that a text tells went in, how many grams where it says so, and when."""
    found = []
    for event in events(text, now):
        product = _meant(event, text, kit) if event.kind == "addition" else None
        if product:
            found.append((product, _grams(event, product), event.at))
    return found


def _grams(event: EventHeard, product: Product) -> float | None:
    if event.grams is None and event.amount and event.measure:
        return grams_of(event.amount, event.measure, product)
    return event.grams


def _weighed(text: str, kit: Kit, now: datetime) -> list[tuple[Product, float]]:
    """The products of the kit that a text names an amount of, and how many grams."""
    found = []
    for event in doses(text, now):
        product = _meant(event, text, kit)
        if product and (grams := _grams(event, product)):
            found.append((product, grams))
    return found


def _meant(event: EventHeard, text: str, kit: Kit) -> Product | None:
    """The product that is meant: one that the text calls by its own name, else the first that fits."""
    products = fitting(event, kit)
    said = normalise(text)
    named = (product for product in products if product.key.replace("_", " ") in said)
    return next(named, products[0] if products else None)

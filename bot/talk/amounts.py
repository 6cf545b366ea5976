"""Amounts as this owner measures them: caps, scoops and spoons beside the grams, ounces where those are in use."""

from collections.abc import Sequence

from bot.talk.words import Line, has, line, lines, verbatim
from dosing import Kit, Measured, Product, Step

GRAMS_PER_OUNCE = 28.349523125
"""Avoirdupois ounce: exact by definition (NIST Handbook 44, appendix C)."""
MILLILITRES_PER_US_FLUID_OUNCE = 29.5735295625
"""NIST Handbook 44, appendix C."""
_QUARTERS = {0.0: "", 0.25: "¼", 0.5: "½", 0.75: "¾"}
_CLOSE = 0.1
"""How far from the weighed dose a count of measures may lie where a handier measure is at hand (common practice)."""


def amount(step: Step, kit: Kit, units: str) -> Line:
    """What to add, by weight and in the measure at hand ("30 g, that is 1 cap")."""
    product = kit.named(step.product or "")
    weighed = mass(step.grams or 0.0, units)
    if product is not None and product.form == "liquid":
        weighed = liquid(step.grams or 0.0, product, units)
    measured = best_measure(step, product) if product else None
    return weighed if measured is None else line("amount.both", weighed=weighed, measured=measured)


def mass(grams: float, units: str) -> Line:
    """Grams; for owners with US units ounces too."""
    said = round(grams, 1) if grams < 100 else round(grams)
    if units != "us":
        return line("amount.grams", grams=said)
    return line("amount.ounces", ounces=round(grams / GRAMS_PER_OUNCE, 2 if grams < 60 else 1), grams=said)


def liquid(grams: float, product: Product, units: str) -> Line:
    """Millilitres of a liquid product, and its grams."""
    millilitres = grams / product.density
    said = round(millilitres, 1) if millilitres < 10 else round(millilitres)
    if units != "us":
        return line("amount.millilitres", millilitres=said, grams=round(grams))
    return line("amount.fluid_ounces", ounces=round(millilitres / MILLILITRES_PER_US_FLUID_OUNCE, 1), millilitres=said)


def _briefly(grams: float, product: Product, units: str) -> Line:
    """An amount in one unit."""
    if product.form == "liquid":
        millilitres = grams / product.density
        if units == "us":
            return line("card.fluid_ounces", ounces=round(millilitres / MILLILITRES_PER_US_FLUID_OUNCE, 1))
        return line("card.millilitres", millilitres=round(millilitres, 1) if millilitres < 10 else round(millilitres))
    if units == "us":
        return line("card.ounces", ounces=round(grams / GRAMS_PER_OUNCE, 2 if grams < 60 else 1))
    return line("amount.grams", grams=round(grams, 1) if grams < 10 else round(grams))


def best_measure(step: Step, product: Product) -> Line | None:
    """The dose in the handiest of the product's measures: the fewest that come close, else those that come closest."""
    best = _handiest(product, step.grams or 0.0, step.measure)
    return measure(best.count, best.name) if best else None


def _handiest(product: Product, wanted: float, measures: Sequence[Measured]) -> Measured | None:
    def rank(one: Measured) -> tuple[bool, float]:
        short = abs(1.0 - product.grams(one.count, one.name) / wanted) if wanted else 0.0
        return short > _CLOSE, one.count if short <= _CLOSE else short

    return min(measures, key=rank, default=None)


def by_measure(product: Product, grams: float) -> float:
    """Grams of so many of the handiest measure as come closest without going over: what the owner will really pour."""
    best = _handiest(product, grams, [Measured(count, name) for count, name in product.measured(grams)])
    return grams if best is None else product.grams(best.count, best.name)


def measured(product: Product, grams: float, units: str) -> Line:
    """An amount in the handiest of a product's measures, and what that holds (a liquid) or weighs; without one, that
    alone.
    """
    best = _handiest(product, grams, [Measured(count, name) for count, name in product.measured(grams)])
    weighed = _briefly(by_measure(product, grams), product, units)
    return weighed if best is None else line("card.amount", measured=measure(best.count, best.name), weighed=weighed)


def measure(count: float, name: str) -> Line:
    """So many level measures ("1½ caps")."""
    said = verbatim(quarters(count))
    form = max(count, 1.0)
    if has(f"measure.{name}"):
        return line(f"measure.{name}", count=form, amount=said)
    return line("measure.other", count=form, amount=said, name=verbatim(name.replace("_", " ")))


def quarters(count: float) -> str:
    """A count in whole quarters as it is written on a spoon: 1½."""
    whole, part = divmod(round(count * 4) / 4, 1)
    return f"{int(whole) if whole or not part else ''}{_QUARTERS[part]}"


def shown(*parts: Line | None) -> Line:
    """Lines beneath each other, without a gap."""
    return lines(*parts, gap="\n")


def sentences(parts: Sequence[Line]) -> Line | None:
    """Sentences one after the other, or nothing."""
    return lines(*parts, gap=" ") if parts else None

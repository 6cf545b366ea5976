"""How much of a dose really went in, as somebody writes it: "only half", "10 g", "2 caps", "nothing"."""

import tomllib
from functools import cache
from importlib.resources import files

from bot.talk.amounts import GRAMS_PER_OUNCE, MILLILITRES_PER_US_FLUID_OUNCE
from bot.talk.understand import normalise
from bot.talk.understand.amounts import amounts
from bot.talk.understand.normalise import bare
from bot.talk.understand.quantities import quantities
from bot.talk.understand.tokens import tokens
from dosing import Product

_SHARES = {"half": 0.5, "quarter": 0.25, "third": 1 / 3, "nothing": 0.0, "whole": 1.0, "double": 2.0}
WEIGHTS = {"gram": 1.0, "kilogram": 1000.0, "ounce": GRAMS_PER_OUNCE, "pound": 16 * GRAMS_PER_OUNCE}
_MILLILITRES = {"millilitre": 1.0, "litre": 1000.0, "ounce": MILLILITRES_PER_US_FLUID_OUNCE}


@cache
def _words(group: str) -> dict[str, str]:
    """Every word of a group of the word table, with what it stands for."""
    table = tomllib.loads(files("bot.talk").joinpath("poured.toml").read_text(encoding="utf-8"))
    return {word: label for label, words in table[group].items() for word in words}


def poured(text: str, planned: float, product: Product | None, *, alone: bool = True) -> float | None:
    """Grams of product that a text says went in, where `planned` grams were named; None if it says no amount.

    `alone`: a number without a unit is grams.
    """
    words = tokens(text)
    for amount in amounts(words):
        if (grams := grams_of(amount.count, amount.measure, product)) is not None:
            return grams
    for quantity in quantities(words):
        if alone and len(words) <= 2 and quantity.unit is None and quantity.other_unit is None:
            return quantity.lows[0]
        if quantity.other_unit == "%" and quantity.lows[0] <= 200:
            return planned * quantity.lows[0] / 100
    return _share(text, planned)


def grams_of(count: float, measure: str, product: Product | None) -> float | None:
    """Grams in so many measures of a product; None where that cannot be known."""
    liquid = product is not None and product.form == "liquid"
    if product is not None and liquid and measure in ("millilitre", "litre", "ounce"):
        return count * product.density * _MILLILITRES[measure]
    if measure in WEIGHTS:
        return count * WEIGHTS[measure]
    if product is None:
        return None
    fitting = [own.name for own in product.measures if measure in own.name]
    return product.grams(count, fitting[0]) if len(fitting) == 1 else None


def form_of(text: str) -> str | None:
    """Whether a text names a liquid, granules, or a shock that holds no chlorine (`chlorine_free`)."""
    said = bare(normalise(text)).replace("-", " ").split()
    return next((_words("forms")[word] for word in said if word in _words("forms")), None)


def _share(text: str, planned: float) -> float | None:
    """A share of what was named, where the text says nothing else ("only half of it")."""
    said = bare(normalise(text)).replace("-", " ").replace(".", " ").replace(",", " ").replace("!", " ").split()
    shares = [_SHARES[label] for word in said if (label := _words("shares").get(word))]
    others = [word for word in said if word not in _words("shares") and word not in _words("around")]
    return planned * shares[0] if len(shares) == 1 and not others else None

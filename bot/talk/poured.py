"""How much of a dose really went in, as somebody writes it: "only half", "10 g", "2 caps", "nothing"."""

from bot.talk.amounts import GRAMS_PER_OUNCE, MILLILITRES_PER_US_FLUID_OUNCE
from bot.talk.understand import normalise
from bot.talk.understand.normalise import bare
from bot.talk.understand.quantities import quantities
from bot.talk.understand.tokens import tokens
from dosing import Product

_SHARES = {
    "half": 0.5, "halves": 0.5, "mitad": 0.5, "media": 0.5, "moitie": 0.5, "halfte": 0.5, "haelfte": 0.5, "halb": 0.5,
    "halbe": 0.5, "halben": 0.5, "quarter": 0.25, "cuarto": 0.25, "quart": 0.25, "viertel": 0.25, "third": 1 / 3,
    "tercio": 1 / 3, "tiers": 1 / 3, "drittel": 1 / 3, "nothing": 0.0, "none": 0.0, "nada": 0.0, "rien": 0.0,
    "nichts": 0.0, "everything": 1.0, "all": 1.0, "todo": 1.0, "tout": 1.0, "alles": 1.0, "double": 2.0, "twice": 2.0,
    "doble": 2.0, "doppelt": 2.0, "doppelte": 2.0,
}  # fmt: skip
_UNITS = {
    "g": "gram", "gr": "gram", "gram": "gram", "grams": "gram", "gramm": "gram", "gramo": "gram", "gramos": "gram",
    "gramme": "gram", "grammes": "gram", "kg": "kilo", "kilo": "kilo", "oz": "ounce", "ounce": "ounce",
    "ounces": "ounce", "onzas": "ounce", "ml": "millilitre", "cap": "cap", "caps": "cap", "capful": "cap",
    "capfuls": "cap", "tapon": "cap", "tapones": "cap", "bouchon": "cap", "bouchons": "cap", "kappe": "cap",
    "kappen": "cap", "verschlusskappe": "cap", "scoop": "scoop", "scoops": "scoop", "cacito": "scoop",
    "cacitos": "scoop", "dosette": "scoop", "dosettes": "scoop", "messloffel": "scoop", "tsp": "teaspoon",
    "teaspoon": "teaspoon", "teaspoons": "teaspoon", "cucharadita": "teaspoon", "cucharaditas": "teaspoon",
    "teeloffel": "teaspoon", "tbsp": "tablespoon", "tablespoon": "tablespoon", "tablespoons": "tablespoon",
    "spoon": "tablespoon", "spoons": "tablespoon", "cucharada": "tablespoon", "cucharadas": "tablespoon",
    "cuillere": "tablespoon", "cuilleres": "tablespoon", "loffel": "tablespoon", "essloffel": "tablespoon",
}  # fmt: skip


def poured(text: str, planned: float, product: Product | None) -> float | None:
    """Grams of product that a text says went in, where `planned` grams were named; None if it says no amount."""
    words = tokens(text)
    for quantity in quantities(words):
        unit = _UNITS.get(bare(quantity.other_unit or "").split(" ")[0]) if quantity.other_unit else None
        count = quantity.lows[0]
        if unit is None and len(words) <= 2 and quantity.unit is None and quantity.other_unit is None:
            unit = "gram"
        if unit is not None and (grams := _grams(count, unit, product)) is not None:
            return grams
        if quantity.other_unit == "%" and 0 <= count <= 200:
            return planned * count / 100
    said = bare(normalise(text)).replace("-", " ").split()
    share = next((_SHARES[word] for word in said if word in _SHARES), None)
    return None if share is None or len(said) > 6 else planned * share


def _grams(count: float, unit: str, product: Product | None) -> float | None:
    weights = {"gram": 1.0, "kilo": 1000.0, "ounce": GRAMS_PER_OUNCE}
    liquid = product is not None and product.form == "liquid"
    if product is not None and liquid and unit in {"millilitre", "ounce"}:
        return count * product.density * (1.0 if unit == "millilitre" else MILLILITRES_PER_US_FLUID_OUNCE)
    if unit in weights:
        return count * weights[unit]
    if product is None:
        return None
    return next((product.grams(count, own.name) for own in product.measures if unit in own.name), None)

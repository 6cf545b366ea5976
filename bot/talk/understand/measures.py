"""Volumes, temperatures and numbers of people."""

import itertools
import math
from collections.abc import Sequence
from functools import cache
from typing import Literal

from bot.talk.understand.amounts import amounts
from bot.talk.understand.durations import spans
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.meaning import Doubt
from bot.talk.understand.mentions import names_a_reading
from bot.talk.understand.numerals import Number, numbers
from bot.talk.understand.quantities import quantities
from bot.talk.understand.quantity import as_reading
from bot.talk.understand.readings import readings
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.words import table
from dosing import Said

US_GALLON = 3.785411784
"""Litres in a US liquid gallon (231 cubic inches), by definition."""
IMPERIAL_GALLON = 4.54609
"""Litres in an imperial gallon, by definition."""
SMALLEST, LARGEST = 150.0, 15000.0
"""Litres that a hot tub can hold, small inflatables to swim spas. Common practice."""

_LITRES = {"litre": 1.0, "cubic": 1000.0, "us": US_GALLON, "imperial": IMPERIAL_GALLON}
_WHOSE = {
    "us": "us",
    "usa": "us",
    "american": "us",
    "imperial": "imperial",
    "imp": "imperial",
    "uk": "imperial",
    "british": "imperial",
}
_METRIC = {
    *("litre", "cubic", "metre", "centimetre", "celsius", "centigrade", "c"),
    *("metric", "metrico", "metrica", "metricas", "metrique", "metriques", "metrisch", "metrische", "metrischen"),
}
_US = {"us", "gallon", "foot", "inch", "fahrenheit", "f", "american", "ounces", "usa"}
_METRES = {"metre": 1.0, "centimetre": 0.01, "foot": 0.3048, "inch": 0.0254}


@cache
def _units() -> Lexicon:
    return Lexicon(table("times")["volume"], ("later", "lighter", "meter", "metres", "little", "mister", "letter"))


@cache
def _people() -> Lexicon:
    labels = ("a_few", "a_couple", "a_dozen", "nobody", "alone", "pronoun", "pair", "trio", "four", "five", "six")
    return Lexicon({label: table("times")["phrases"][label] for label in labels}, ("person", "persons", "persona"))


def volume(text: str) -> float | Doubt | None:
    """Litres, from any unit or from `2 x 2 x 0.8 m`; a bare number is litres where a tub can hold them.

    A plain gallon is a doubt with two choices (US, imperial). None where no volume is said.
    """
    words = tokens(text)
    if (litres := _dimensions(words)) is not None:
        return _believed(litres, text)
    found = _grouped(words, numbers(words))
    units = {h.start: h for h in sorted(_units().hits(words), key=lambda h: (h.end, h.label != "gallon"))}
    for number in found:
        unit = units.get(number.end)
        if unit and unit.label in _LITRES:
            return _in_litres(number, _LITRES[unit.label], text)
        if unit and unit.label == "gallon":
            return _gallons(number, words, text)
    bare = len(found) == 1 and len(words) <= 6 and units.get(found[0].end) is None and found[0].value > 0
    if bare and not names_a_reading(words):
        return _in_litres(found[0], 1.0, text)
    return None


def unit_system(text: str) -> Literal["metric", "us"] | None:
    """Which system of units a text names (`litres`, `metric`, `gallons`, `Fahrenheit`); None for neither or both."""
    words = tokens(text)
    labels = {hit.label for hit in _units().hits(words)} | {token.text for token in words}
    metric, us = bool(labels & _METRIC), bool(labels & _US)
    return None if metric == us else "metric" if metric else "us"


def _gallons(number: Number, words: Sequence[Token], text: str) -> float | Doubt:
    kinds = {h.label for h in _units().hits(words)} & {"us", "imperial"}
    kinds |= {_WHOSE[t.text] for t in words[number.end + 1 : number.end + 4] if t.text in _WHOSE}
    amount = _tub_sized(number, US_GALLON)
    if len(kinds) == 1:
        return _believed(amount * _LITRES[kinds.pop()], text)
    return Doubt(
        "which_gallon", None, text.strip()[:80], (round(amount * US_GALLON, 1), round(amount * IMPERIAL_GALLON, 1))
    )


def _in_litres(number: Number, factor: float, text: str) -> float | Doubt:
    return _believed(_tub_sized(number, factor) * factor, text)


def _tub_sized(number: Number, factor: float) -> float:
    """`1,350` and `1.350` litres are what a tub can hold: 1350."""
    return next((v for v in number.values if SMALLEST <= v * factor <= LARGEST), number.value)


def _believed(litres: float, text: str) -> float | Doubt:
    if SMALLEST <= litres <= LARGEST:
        return round(litres, 1)
    return Doubt("implausible_volume", None, text.strip()[:80], (round(litres, 1),) if math.isfinite(litres) else ())


def _grouped(words: Sequence[Token], found: list[Number]) -> list[Number]:
    """`1 100 l`: a space between the thousands."""
    out: list[Number] = []
    for number in found:
        last = out[-1] if out else None
        tail, head = words[number.start].text, words[last.start].text if last else ""
        if (
            last
            and last.end == number.start
            and len(tail) == 3
            and tail.isdigit()
            and head.isdigit()
            and len(head) <= 2
        ):
            out[-1] = Number(last.start, number.end, (float(head + tail),), head + tail)
        else:
            out.append(number)
    return out


def _dimensions(words: Sequence[Token]) -> float | None:
    """Litres in a box (three lengths) or a round tub (across and deep)."""
    hits = _units().hits(words)
    units = {h.start: h for h in hits if h.label in _METRES}
    by = {h.start for h in hits if h.label == "by"}
    found = [n for n in numbers(words) if n.value > 0]
    linked = sum(1 for a, b in itertools.pairwise(found) if any(a.end <= place < b.start for place in by))
    lengths = _lengths(found, units)
    if len(lengths) == 3 and linked == 2:
        return 1000.0 * math.prod(lengths)
    labels = {h.label for h in hits}
    if len(lengths) == 2 and "across" in labels and (linked == 1 or "deep" in labels):
        across, deep = max(lengths), min(lengths)
        return 1000.0 * math.pi / 4 * across**2 * deep
    return None


def _lengths(found: list[Number], units: dict[int, Hit]) -> list[float]:
    named = [units.get(n.end) for n in found]
    last = next((u for u in reversed(named) if u), None)
    if not found or len(found) > 3 or (last is None and len(found) < 3):
        return []
    default = last.label if last else ("centimetre" if all(n.value >= 20 for n in found) else "metre")
    return [n.value * _METRES[u.label if u else default] for n, u in zip(found, named, strict=True)]


def temperature(text: str) -> float | None:
    """degC that a text speaks of; above 60 without a unit is Fahrenheit. None for none or an unclear one."""
    words = tokens(text)
    if names_a_reading(words):
        named = readings(text).values.get("temp")
        return named.low if named and named.kind == "value" else None
    for quantity in quantities(words):
        if quantity.other_unit is None:
            said = as_reading(quantity, "temp")
            return said.low if isinstance(said, Said) and said.kind == "value" else None
    return None


def count(text: str) -> int | None:
    """How many people a text speaks of; `a few` is three. None where no number from 0 to 30 is said."""
    words = tokens(text)
    if names_a_reading(words) or amounts(words):
        return None
    hits = _people().longest(words)
    labels = {h.label for h in hits if h.label != "pronoun" or h.end - h.start == len(words)}
    times = [range(s.start, s.end) for s in spans(words)]
    meant = [n for n in numbers(words) if not any(n.start in time for time in times)]
    found = [n.value for n in meant if not n.shy or len(words) <= 3]
    if found:
        whole = [int(v) for v in found if v == int(v) and 0 <= v <= 30]
        return max(whole) if whole and len(whole) == len(found) else None
    fixed = {
        "pair": 2,
        "trio": 3,
        "four": 4,
        "five": 5,
        "six": 6,
        "a_dozen": 12,
        "a_few": 3,
        "a_couple": 2,
        "nobody": 0,
        "alone": 1,
        "pronoun": 1,
    }
    return next((people for label, people in fixed.items() if label in labels), None)

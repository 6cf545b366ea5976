"""Red flags that lie in numbers: water above 40 degC, a sanitizer or pH that no one should bathe in."""

from collections.abc import Iterator

from bot.talk.understand.language import language
from bot.talk.understand.lexicon import Hit
from bot.talk.understand.mentions import names
from bot.talk.understand.quantities import quantities
from bot.talk.understand.quantity import Quantity
from bot.talk.understand.readings import readings
from bot.talk.understand.scan import Scan
from dosing import Said

MAX_BATHING_C = 40.0
"""degC: CPSC 1979 and US CDC, 104 degF."""
_HOTTEST_C, _HOTTEST_F = 75.0, 167.0
_SYMPTOMS = ("rash", "eye_sting", "pain", "hand_burned")
_HEAT_WORDS = ("temp_word", "shows", "hot_word", "thermometer")
_NOT_WATER = ("weather", "for_people")

_Found = tuple[int, str, tuple[Hit, ...]]


def by_numbers(text: str, scanned: Scan) -> Iterator[_Found]:
    """Flags 4, 11 and 13 from the numbers of a text."""
    yield from _too_hot(scanned)
    yield from _chemistry(text, scanned)


def sanitizer_is_read(text: str) -> bool:
    """Whether a text tells a sanitizer reading that is not next to nothing: `low` and `month` then speak of others."""
    heard = readings(text).values
    return any((heard[key].low or 0.0) >= 1.0 for key in ("fc", "br") if key in heard)


def _too_hot(scanned: Scan) -> Iterator[_Found]:
    named = [n for n in names(scanned.tokens) if n.label not in {"temp", "total", "sanitizer"}]
    for quantity in quantities(scanned.tokens):
        here = Hit("temperature", quantity.start, quantity.end)
        if (
            quantity.other_unit is None
            and not _belongs(scanned, named, quantity)
            and _over(quantity)
            and _is_water_heat(scanned, quantity, here)
        ):
            yield 4, "over_40", (here,)


def _belongs(scanned: Scan, named: list[Hit], quantity: Quantity) -> bool:
    """Whether the number is beside the name of another reading (`ta 120`, `hardness 50`) that has none of its own."""
    if quantity.unit in {"celsius", "fahrenheit"}:
        return False
    return any(
        (0 <= quantity.start - n.end <= 3 and all(t.kind != "number" for t in scanned.tokens[n.end : quantity.start]))
        or 0 <= n.start - quantity.end <= 1
        for n in named
    )


def _over(quantity: Quantity) -> bool:
    high = quantity.highs[0] if quantity.kind != "below" else 0.0
    if quantity.unit == "fahrenheit":
        return 104.0 < high <= _HOTTEST_F or (high == 104.0 and quantity.kind == "above")
    if quantity.unit in {None, "celsius", "degree"} and (
        MAX_BATHING_C < high <= _HOTTEST_C or (high == 40.0 and quantity.kind == "above")
    ):
        return True
    return quantity.unit in {None, "degree"} and (
        104.0 < high <= _HOTTEST_F or (high == 104.0 and quantity.kind == "above")
    )


def _is_water_heat(scanned: Scan, quantity: Quantity, here: Hit) -> bool:
    plain = quantity.unit in {None, "degree"} and quantity.highs[0] <= 46.0
    if plain and (_sat_at(scanned, here) or _risen(scanned, quantity, here)):
        return True
    near = scanned.nearest(_NOT_WATER, here)
    if near and abs(near.start - here.start) <= 6:
        return False
    if quantity.aimed or _wished(scanned, here):
        return False
    heat = scanned.nearest(_HEAT_WORDS, here)
    close = heat is not None and heat.start - here.end <= 5 and here.start - heat.end <= 5
    if quantity.unit in {"celsius", "fahrenheit"}:
        return close or any(concept in scanned.found for concept in ("tub_word", "water_word", "heater"))
    if close and any(concept in scanned.found for concept in ("temp_word", "hot_word", "thermometer", "set_to")):
        return True
    return (close and _like_a_display(scanned, quantity, here)) or _stated(scanned, quantity, here)


def _stated(scanned: Scan, quantity: Quantity, here: Hit) -> bool:
    """`il fait 41 dans l'eau`, `it's 42 in there`, `está a 43`, `the display says 43`: how hot it is, without degrees.

    Where nothing but the wording tells that a temperature is meant, only what no strip shows between its blocks counts.
    """
    high = quantity.highs[0]
    if _names_another(scanned, quantity):
        return False
    if high <= 46.0 and _just_before(scanned, ("state_of_it", "display"), here):
        return True
    there = scanned.nearest(["in_there", "tub_word", "water_word"], here)
    if there is None or min(abs(there.start - here.end), abs(here.start - there.end)) > 5:
        return False
    said = _just_before(scanned, ("stands_at", "display"), here)
    return said and (high <= 60.0 or (104.0 < high <= 125.0 and language(scanned.text) in {"en", None}))


def _sat_at(scanned: Scan, here: Hit) -> bool:
    """`sat in 42 for an hour`, `saß eine Stunde bei 42`."""
    sat = scanned.nearest(["sat_at"], here)
    return sat is not None and 0 <= here.start - sat.end <= 6 and _just_before(scanned, ("sat_at_by",), here)


def _risen(scanned: Scan, quantity: Quantity, here: Hit) -> bool:
    """`heating off, yet from 39 to 41`."""
    before = [float(t.text) for t in scanned.tokens[max(here.start - 4, 0) : here.start] if t.text.isdigit()]
    rises = 30.0 <= quantity.lows[0] < quantity.highs[0] or any(30.0 <= lower < quantity.lows[0] for lower in before)
    return rises and "heats" in scanned.found and not {"ask", "wonder"} & scanned.found.keys()


def _just_before(scanned: Scan, concepts: tuple[str, ...], here: Hit) -> bool:
    return any(0 <= here.start - hit.end <= 1 for concept in concepts for hit in scanned.found.get(concept, ()))


def _names_another(scanned: Scan, quantity: Quantity) -> bool:
    """Whether the sentence names a reading that is no temperature and that has no number of its own beside it."""
    sentence = scanned.tokens[quantity.start].sentence
    return any(
        n.label != "temp"
        and scanned.tokens[n.start].sentence == sentence
        and not any(t.kind == "number" for t in scanned.tokens[n.end : min(n.end + 2, quantity.start)])
        for n in names(scanned.tokens)
    )


def _like_a_display(scanned: Scan, quantity: Quantity, here: Hit) -> bool:
    """`shows 41.5`, `tub is at 109`: just above a limit, in a sentence that names no reading."""
    value = quantity.lows[0]
    if _names_another(scanned, quantity):
        return False
    water = scanned.nearest(["tub_word", "water_word"], here)
    of_water = water is not None and 0 <= here.start - water.end <= 3
    return (value % 1 != 0 and value <= 46.0) or (of_water and (value <= 50.0 or 104.0 < value <= 125.0))


def _wished(scanned: Scan, here: Hit) -> bool:
    """`can I set it to 42`: a wish, not a reading."""
    wish = scanned.nearest(["set_to", "wish_heat"], here)
    return (
        wish is not None
        and 0 <= here.start - wish.end <= 1
        and all(t.kind != "number" for t in scanned.tokens[wish.end : here.start])
    )


def _chemistry(text: str, scanned: Scan) -> Iterator[_Found]:
    heard = readings(text).values
    whole = (Hit("reading", 0, min(len(scanned.tokens), 12)),)
    for key in ("fc", "br"):
        said = heard.get(key)
        if said is None:
            continue
        high = (said.low or 0.0) > 10.0 or said == Said("above", 10.0, None)
        if high and "waiting_it_out" not in scanned.found:
            yield 13, "sanitizer_high", whole
        if said.high == 0.0 and "bathed" in scanned.found and said.low is not None:
            yield 11, "no_sanitizer_bathers", whole
    ph = heard.get("ph")
    unwell = [scanned.found[concept][0] for concept in _SYMPTOMS if concept in scanned.found]
    if (
        ph
        and unwell
        and ((ph.high is not None and ph.high < 7.0 and ph.high > 0) or (ph.low is not None and ph.low > 7.8))
    ):
        yield 13, "ph_with_symptoms", (unwell[0],)

"""Who takes part in a rehearsal, and what happened to their tub before it: attributes and journal lines as values."""

import re
from collections.abc import Callable, Iterable, Mapping
from datetime import datetime, time
from pathlib import Path
from typing import Any, TypeVar

from pydantic import ValidationError

from bot.command.quantities import parse_volume
from bot.command.script import BadLine
from bot.command.tables import read_kit, read_scale
from bot.model.dealer import Quiet, Supplies
from bot.model.fact import (
    Added,
    CartridgeChanged,
    Filled,
    FilterCared,
    Noted,
    Plain,
    ReadingTaken,
    Refilled,
    Soaked,
    StartedUp,
)
from bot.talk.words import languages
from dosing import READING_KEYS, SUBSTANCES, Kit, Said

T = TypeVar("T")
Trait = Callable[[str], Any]


def _volume(text: str) -> float:
    return parse_volume(text)


def _switch(text: str) -> bool:
    if text not in ("yes", "no"):
        raise ValueError(f"{text!r} is neither yes nor no")
    return text == "yes"


def _quiet(text: str) -> Quiet:
    start, _, end = text.partition("-")
    try:
        return Quiet(start=time.fromisoformat(start), end=time.fromisoformat(end))
    except ValueError:
        raise ValueError("quiet hours are two times, as in 21:00-08:00") from None


def _watts(text: str) -> float:
    try:
        return float(text.lower().removesuffix("kw"))
    except ValueError:
        raise ValueError("a heater has a power in kW, as in heater=2kW") from None


def _whole(text: str) -> int:
    if not (text.isascii() and text.isdigit()):
        raise ValueError("a whole number is wanted, as in pumps=2")
    return int(text)


def _times(text: str) -> float:
    try:
        return float(text)
    except ValueError:
        raise ValueError("a number is wanted, as in soaks=2.5") from None


def _language(text: str) -> str:
    code = text.replace("_", "-").partition("-")[0].lower()
    if not re.fullmatch("[a-z]{2,3}", code):
        raise ValueError(f"a language is a code such as {', '.join(languages())}")
    return code


TUB_TRAITS: Mapping[str, tuple[str, Trait]] = {
    "volume": ("volume", _volume),
    "sanitizer": ("sanitizer", str),
    "supply": ("supply", str),
    "pumps": ("pumps", _whole),
    "filters": ("filters", _whole),
    "fill_well": ("fill_well", str),
    "cartridge": ("cartridge", _switch),
    "purifier": ("purifier", str),
    "heater": ("heater_kw", _watts),
    "water": ("water_source", str),
    "past": ("past", str),
    "model": ("model", str),
    "bathers": ("bathers", _whole),
    "soaks": ("soaks_per_week", _times),
    "method": ("method", str),
    "kit": ("kit", lambda text: read_kit(Path(text))),
    "strip": ("scale", lambda text: read_scale(Path(text))),
}
"""Attributes of a tub: the field of the model, and how it is read."""

PERSON_TRAITS: Mapping[str, tuple[str, Trait]] = {
    "zone": ("zone", str),
    "lang": ("language", _language),
    "units": ("units", str),
    "quiet": ("quiet", _quiet),
}

DEALER_TRAITS: Mapping[str, tuple[str, Trait]] = {
    "lang": ("language", _language),
    "locale": ("locale", str),
    "quiet": ("quiet", _quiet),
    "kit": ("kit", lambda text: read_kit(Path(text))),
    "strip": ("scale", lambda text: read_scale(Path(text))),
    "open": ("open_door", _switch),
    "offer": ("supplies", lambda text: Supplies(offer=_switch(text))),
}

GROUP_TRAITS: Mapping[str, tuple[str, Trait]] = {"lang": ("language", _language), "topics": ("topics", _switch)}
"""Attributes of the group of the dealer's people: `topics` are on unless it says no."""

OWNER_WORDS = ("state", "filled", "tub")
"""Attributes of an owner that are neither the tub's nor the person's own."""


def read_traits(given: Mapping[str, str], known: Mapping[str, tuple[str, Trait]]) -> dict[str, Any]:
    """The fields of those attributes that are `known`. BadLine says which value is wrong."""
    fields = {}
    for name, text in given.items():
        if name not in known:
            continue
        field, read = known[name]
        try:
            fields[field] = read(text)
        except (ValueError, ValidationError) as wrong:
            raise BadLine(f"{name}={text}: {_sentence(wrong).removeprefix('--volume ')}") from None
    return fields


def refuse_unknown(given: Mapping[str, str], *known: Iterable[str]) -> None:
    """BadLine names the first attribute that none of `known` holds."""
    names = [name for some in known for name in some]
    for name in given:
        if name not in names:
            raise BadLine(f"{name!r} is no attribute here; these are: {', '.join(sorted(names))}")


def checked(build: Callable[[], T]) -> T:
    """What `build` makes of the model; a value that the model refuses is a BadLine."""
    try:
        return build()
    except (ValidationError, ValueError) as wrong:
        raise BadLine(_sentence(wrong)) from None


def _sentence(wrong: Exception) -> str:
    if isinstance(wrong, ValidationError):
        first = wrong.errors()[0]
        where = ".".join(str(part) for part in first["loc"])
        said = str(first["msg"]).removeprefix("Value error, ")
        return f"{where}: {said}" if where else said
    return str(wrong)


def history_fact(text: str, kit: Kit) -> Plain:
    """The fact that a journal line tells. BadLine says what is wrong."""
    what, _, rest = text.partition(" ")
    if what not in _FACTS:
        raise BadLine(f"{what!r} is nothing that a journal holds; these are: {', '.join(_FACTS)}")
    try:
        return _FACTS[what](rest.strip(), kit)
    except (ValueError, ValidationError) as wrong:
        raise BadLine(_sentence(wrong)) from None


def _reading(rest: str, _: Kit) -> Plain:
    words = rest.replace(",", " ").split()
    method = words.pop(0) if words and words[0] in ("strip", "drops", "meter") else "strip"
    source = bool(words) and words[0] == "source"
    words = words[1:] if source else words
    if not words or len(words) % 2:
        raise ValueError("a reading is keys and values in turn, as in `reading fc 3 ph 7.6 ta 90`")
    keys = words[::2]
    for key in keys:
        if key not in READING_KEYS:
            raise ValueError(f"{key!r} is not a reading; the keys are {', '.join(READING_KEYS)}")
    values = {key: Said.parse(said) for key, said in zip(keys, words[1::2], strict=True)}
    return ReadingTaken.model_validate({"values": values, "method": method, "source": source})


def _added(rest: str, kit: Kit) -> Plain:
    found = re.fullmatch(r"(\S+)\s+(\d+(?:\.\d+)?)\s*(g|kg)(\s+shock)?", rest)
    if not found:
        raise ValueError("added needs a substance or product and its weight, as in `added sodium_dichlor 15g`")
    name, grams = found[1], float(found[2]) * (1000 if found[3] == "kg" else 1)
    product = kit.named(name)
    if product is None and name not in SUBSTANCES:
        known = ", ".join([*(one.key for one in kit.products), *SUBSTANCES])
        raise ValueError(f"{name!r} is neither a product of the kit nor a substance; these are: {known}")
    substances = product.split(grams) if product else {name: grams}
    return Added(product=name if product else None, grams=grams, substances=substances, shock=bool(found[4]))


def _soaked(rest: str, _: Kit) -> Plain:
    found = re.fullmatch(r"(\d+)\s*x\s*(\d+(?:\.\d+)?)\s*min", rest)
    if not found:
        raise ValueError("soaked needs bathers and minutes, as in `soaked 3x30min`")
    return Soaked(bathers=int(found[1]), minutes=float(found[2]))


def _filled(rest: str, _: Kit) -> Plain:
    return Filled(litres=parse_volume(rest) if rest else None)


def _refilled(rest: str, _: Kit) -> Plain:
    return Refilled(litres=parse_volume(rest) if rest else None)


def _filter(rest: str, _: Kit) -> Plain:
    return FilterCared.model_validate({"what": rest or "rinse"})


_FACTS: dict[str, Callable[[str, Kit], Plain]] = {
    "reading": _reading,
    "added": _added,
    "soaked": _soaked,
    "filled": _filled,
    "refilled": _refilled,
    "started": lambda _rest, _kit: StartedUp(),
    "cartridge": lambda _rest, _kit: CartridgeChanged(),
    "filter": _filter,
    "note": lambda rest, _kit: Noted(text=rest),
}


def day(text: str) -> datetime:
    """A date or a date and time, naive where it has no offset. BadLine where it is none."""
    try:
        moment = datetime.fromisoformat(text)
    except ValueError:
        raise BadLine(f"{text!r} is no date; write it like 2027-01-10") from None
    return moment.replace(hour=12) if len(text) == len("2027-01-10") else moment

"""Numbers with units as a person types them on a command line, turned into litres, degrees Celsius and readings."""

from __future__ import annotations

import math
import re
from collections.abc import Mapping

from dosing import READING_KEYS, Said

LITRES: Mapping[str, float] = {"L": 1.0, "m3": 1000.0, "usgal": 3.785411784, "impgal": 4.54609}
_QUANTITY = re.compile(r"([0-9]*\.?[0-9]+)\s*([a-z0-9]*)", re.IGNORECASE)


def parse_volume(text: str) -> float:
    """Litres from "1300L", "1.3m3", "350usgal" or "290impgal". Raises ValueError with one clear sentence."""
    found = _QUANTITY.fullmatch(text.strip())
    if not found:
        raise ValueError(f"--volume {text!r} is not a volume: write a number and its unit, such as 1300L")
    number, unit = float(found[1]), found[2]
    if unit.lower() in {"gal", "gals", "gallon", "gallons", "g"}:
        raise ValueError(f"--volume {text!r}: which gallon? write {found[1]}usgal or {found[1]}impgal")
    litres = next((factor for name, factor in LITRES.items() if name.lower() == unit.lower()), None)
    if litres is None:
        raise ValueError(f"--volume {text!r}: the unit is one of {', '.join(LITRES)}, such as 1300L")
    if not (math.isfinite(number) and number > 0):
        raise ValueError(f"--volume {text!r}: a tub holds more than nothing, such as 1300L")
    return number * litres


def parse_temperature(text: str) -> float:
    """Degrees Celsius from "38C" or "100F". Raises ValueError with one clear sentence."""
    found = _QUANTITY.fullmatch(text.strip().replace("\N{DEGREE SIGN}", ""))
    if not found or found[2].upper() not in {"C", "F"}:
        raise ValueError(f"--temp {text!r} is not a temperature: write 38C or 100F")
    number = float(found[1])
    celsius = number if found[2].upper() == "C" else (number - 32.0) / 1.8
    if not 0.0 <= celsius <= 60.0:
        raise ValueError(f"--temp {text!r}: the water of a tub lies between 0C and 60C (32F and 140F)")
    return celsius


def parse_readings(text: str) -> dict[str, Said]:
    """Readings by key from "fc 1, ph 7.2-7.8, ta >180". Raises ValueError with one clear sentence."""
    out: dict[str, Said] = {}
    for part in filter(None, (piece.strip() for piece in re.split(r"[,;]", text))):
        key, _, said = part.partition(" ")
        key = key.lower()
        if key not in READING_KEYS:
            raise ValueError(f"{key!r} is not a reading: these are {', '.join(READING_KEYS)}")
        if key in out:
            raise ValueError(f"{key} is given twice: say each reading once")
        if not said.strip():
            raise ValueError(f"{key} has no number: write it after the key, such as '{key} 7.4'")
        out[key] = Said.parse(said)
    if not out:
        raise ValueError("--reading is empty: write keys and numbers, such as 'fc 1, ph 7.8, ta 120'")
    return out

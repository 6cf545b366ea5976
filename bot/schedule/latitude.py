"""How far north or south a time zone lies: the tz database gives every zone the place that names it."""

from functools import cache
from importlib.resources import files

from babel.core import get_global


@cache
def _latitudes() -> dict[str, float]:
    """Degrees north by zone, from the database's own table (ISO 6709: sign, degrees, minutes, perhaps seconds)."""
    table = (files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    rows = (row.split("\t") for row in table.splitlines() if row and not row.startswith("#"))
    return {name: _degrees(where) for _, where, name, *_ in rows}


def _degrees(where: str) -> float:
    sign = -1.0 if where[0] == "-" else 1.0
    return sign * (float(where[1:3]) + float(where[3:5]) / 60.0)


def latitude(zone_name: str) -> float | None:
    """Degrees north (south below 0) of a zone's place; None for one that has none, as UTC."""
    name = str(get_global("zone_aliases").get(zone_name, zone_name))
    return _latitudes().get(zone_name, _latitudes().get(name))

"""Time zones are IANA names; an offset is not a zone, because it knows no summer time."""

from functools import cache
from typing import Annotated
from zoneinfo import ZoneInfo, available_timezones

from babel.core import get_global
from pydantic import AfterValidator


@cache
def zone_names() -> frozenset[str]:
    """Every name of the tz database; looking them up walks its folders, so it is done once."""
    return frozenset(available_timezones())


def check_zone(name: str) -> str:
    """Return `name` if the tz database knows it; else ValueError says what would be right."""
    if name not in zone_names():
        raise ValueError(f"{name!r} is not an IANA time zone; write one such as Europe/Paris")
    return name


def country_of(name: str) -> str:
    """The country of a zone by ISO 3166, two letters; empty where a zone is of none (UTC)."""
    return str(get_global("zone_territories").get(name, ""))


Zone = Annotated[str, AfterValidator(check_zone)]


def zone(name: str) -> ZoneInfo:
    """The zone of that name."""
    return ZoneInfo(name)

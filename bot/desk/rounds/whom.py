"""Whom a round is for: whether somebody meets its criteria, and the criteria as they are written in a line."""

import re
from collections.abc import Callable, Iterable
from datetime import date, datetime, timedelta
from typing import Any

from pydantic import ValidationError

import dosing
from bot.model.dealer import Dealer
from bot.model.fact import ReadingTaken
from bot.model.person import Person
from bot.model.round import Candidate, Chosen, Whom
from bot.model.tub import Tub
from bot.model.zones import country_of
from bot.schedule.journal import last, standing
from bot.schedule.reminders import falls_due
from bot.talk.words import SOURCE, Line, Words, line, verbatim

_SERIAL = re.compile(r"(?P<head>.*?)(?P<number>\d+)(?P<tail>\D*)")


def chosen(whom: Whom, candidate: Candidate, dealer: Dealer, now: datetime) -> Chosen | None:
    """Somebody as one of the round, with the due date that the message may name; None for who is not meant."""
    person, tub = candidate.person, candidate.tub
    if not (_is_meant(whom, person) and _is_listed(whom, person, tub)):
        return None
    if tub is None:
        return Chosen() if whom == Whom(**_personal(whom)) else None
    if not _is_such(whom, tub):
        return None
    if not whom.looks_at:
        return Chosen()
    return _by_journal(whom, candidate, tub, dealer, now)


def _personal(whom: Whom) -> dict[str, Any]:
    """The criteria that somebody without a tub can meet."""
    return {name: getattr(whom, name) for name in ("languages", "regions", "tags", "people")}


def _is_meant(whom: Whom, person: Person) -> bool:
    """Whether what is known of the person fits."""
    if whom.languages and person.language not in whom.languages:
        return False
    if whom.tags and not {tag.casefold() for tag in whom.tags} & {tag.casefold() for tag in person.tags}:
        return False
    return not whom.regions or any(_lives_in(person, _plain(region)) for region in whom.regions)


def _lives_in(person: Person, region: str) -> bool:
    if region == _plain(person.region) or region == country_of(person.zone).casefold():
        return True
    where = person.zone.casefold()
    return where == region or where.startswith(region.rstrip("/") + "/")


def _is_listed(whom: Whom, person: Person, tub: Tub | None) -> bool:
    if not whom.people:
        return True
    listed = {one.casefold() for one in whom.people}
    names = (person.key, tub.key if tub else None, tub.serial if tub else None)
    return any(name is not None and name.casefold() in listed for name in names)


def _is_such(whom: Whom, tub: Tub) -> bool:
    """Whether what is known of the tub fits."""
    if whom.sanitizer and tub.sanitizer != whom.sanitizer:
        return False
    if whom.models and _plain(tub.model) not in {_plain(model) for model in whom.models}:
        return False
    if whom.serial_unknown and tub.serial:
        return False
    if whom.serials and not (tub.serial and any(_in_range(tub.serial, wanted) for wanted in whom.serials)):
        return False
    after = whom.delivered_from is None or (tub.delivered is not None and tub.delivered >= whom.delivered_from)
    before = whom.delivered_to is None or (tub.delivered is not None and tub.delivered <= whom.delivered_to)
    return after and before


def _plain(text: str | None) -> str:
    return " ".join((text or "").split()).casefold()


def _in_range(serial: str, wanted: str) -> bool:
    """Whether a serial number is the wanted one or lies in the range of two that differ in their last number only."""
    first, dots, last_one = (_plain(part) for part in wanted.partition(".."))
    if not dots:
        return _plain(serial) == first
    parts = [_SERIAL.fullmatch(part) for part in (_plain(serial), first, last_one)]
    if not all(parts):
        return False
    own, low, high = (part for part in parts if part)
    same = (own["head"], own["tail"]) == (low["head"], low["tail"]) == (high["head"], high["tail"])
    return same and int(low["number"]) <= int(own["number"]) <= int(high["number"])


def _by_journal(whom: Whom, candidate: Candidate, tub: Tub, dealer: Dealer, now: datetime) -> Chosen | None:
    journal = standing(candidate.journal)
    due: date | None = None
    for what, within in (("cartridge", whom.cartridge_within), ("refill", whom.refill_within)):
        if within is None:
            continue
        day = falls_due(what, candidate.person, tub, dealer, journal, now)  # type: ignore[arg-type]
        if day is None or day > now.date() + timedelta(days=within):
            return None
        due = day if due is None else min(due, day)
    test = last(journal, ReadingTaken, lambda fact: not fact.source)
    if whom.untested is not None and test and now - test[0].at < timedelta(days=whom.untested):
        return None
    if whom.out_of_range and not (test and out_of_range(test[1], tub, dealer)):
        return None
    return Chosen(due=due)


def out_of_range(test: ReadingTaken, tub: Tub, dealer: Dealer) -> bool:
    """Whether the most likely pH or sanitizer of a test lies outside the bathing range, or alkalinity outside the fine
    one, by the limits that count for the dealer.
    """
    limits = dosing.limits_for(dealer.locale)
    ranges = {
        "ph": limits.ph_bathing,
        "fc": limits.chlorine_bathing,
        "br": limits.bromine_bathing,
        "ta": limits.alkalinity_fine,
    }
    other = "br" if tub.sanitizer == "chlorine" else "fc"
    read = dosing.Reading(values=dict(test.values), method=test.method).intervals(
        tub.scale or dealer.scale or dosing.DEFAULT_SCALE
    )
    return any(
        not low <= interval.likely <= high
        for key, (low, high) in ranges.items()
        if key != other and (interval := read.get(key)) is not None
    )


# -- the criteria in a line, as in: chlorine, model=Cedar 5, cartridge=14, untested=21, lang=de


class Unread(ValueError):
    """A line of criteria that cannot be read; `line` says what is wrong with it and what would be right."""

    def __init__(self, line_: Line) -> None:
        super().__init__(Words(SOURCE).text(line_))
        self.line = line_


def _days(text: str) -> int:
    number = text.lower().removesuffix("d").strip()
    if not number.isdecimal():
        raise Unread(line("bulk.unread.days", text=verbatim(text)))
    return int(number)


def _span(text: str) -> tuple[date | None, date | None]:
    first, dots, second = text.partition("..")
    try:
        low = date.fromisoformat(first) if first else None
        high = date.fromisoformat(second) if second else None if dots else low
    except ValueError:
        raise Unread(line("bulk.unread.span", text=verbatim(text))) from None
    if low and high and low > high:
        raise Unread(line("bulk.unread.backwards", text=verbatim(text)))
    return low, high


def _list(text: str) -> tuple[str, ...]:
    return tuple(part.strip() for part in text.split("|") if part.strip())


_WORDS: dict[str, dict[str, Any]] = {
    "chlorine": {"sanitizer": "chlorine"},
    "bromine": {"sanitizer": "bromine"},
    "out_of_range": {"out_of_range": True},
    "serial_unknown": {"serial_unknown": True},
    "all": {},
}
_VALUES: dict[str, Callable[[str], dict[str, Any]]] = {
    "sanitizer": lambda text: {"sanitizer": text},
    "model": lambda text: {"models": _list(text)},
    "delivered": lambda text: dict(zip(("delivered_from", "delivered_to"), _span(text), strict=True)),
    "cartridge": lambda text: {"cartridge_within": _days(text)},
    "refill": lambda text: {"refill_within": _days(text)},
    "untested": lambda text: {"untested": _days(text)},
    "lang": lambda text: {"languages": tuple(one.lower() for one in _list(text))},
    "region": lambda text: {"regions": _list(text)},
    "tag": lambda text: {"tags": _list(text)},
    "serial": lambda text: {"serials": _list(text)},
    "ids": lambda text: {"people": _list(text)},
}
CRITERIA = (*_WORDS, *(f"{name}=" for name in _VALUES))
"""What may stand in a line of criteria."""


def read_whom(text: str) -> Whom:
    """The criteria in a line, separated by commas; several values of one are separated by |, and any of them fits.

    Raises Unread.
    """
    fields: dict[str, Any] = {}
    said = [part.strip() for part in text.split(",") if part.strip()]
    if not said:
        raise Unread(line("bulk.unread.nothing"))
    for part in said:
        name, sign, value = (one.strip() for one in part.partition("="))
        name = name.lower().replace(" ", "_").replace("-", "_")
        if not sign and name in _WORDS:
            new = _WORDS[name]
        elif sign and name in _VALUES and value:
            new = _VALUES[name](value)
        else:
            raise Unread(line("bulk.unread.unknown", text=verbatim(part), known=verbatim(", ".join(CRITERIA))))
        if set(new) & set(fields):
            raise Unread(line("bulk.unread.twice", text=verbatim(part)))
        fields |= new
    try:
        return Whom.model_validate(fields)
    except ValidationError:
        raise Unread(line("bulk.unread.value", text=verbatim(text))) from None


def write_whom(whom: Whom) -> str:
    """The line that `read_whom` reads as these criteria."""
    return ", ".join(_parts(whom)) or "all"


def _parts(whom: Whom) -> Iterable[str]:
    if whom.sanitizer:
        yield whom.sanitizer
    if whom.delivered_from or whom.delivered_to:
        yield f"delivered={whom.delivered_from or ''}..{whom.delivered_to or ''}"
    for name, days in (
        ("cartridge", whom.cartridge_within),
        ("refill", whom.refill_within),
        ("untested", whom.untested),
    ):
        if days is not None:
            yield f"{name}={days}"
    lists = {
        "model": whom.models,
        "lang": whom.languages,
        "region": whom.regions,
        "tag": whom.tags,
        "serial": whom.serials,
        "ids": whom.people,
    }
    for name, values in lists.items():
        if values:
            yield f"{name}={'|'.join(values)}"
    for word in ("out_of_range", "serial_unknown"):
        if getattr(whom, word):
            yield word

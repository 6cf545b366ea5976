"""Readings that a text gives for an earlier time: they say nothing of the water as it is now."""

import re
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta
from functools import cache

from babel import Locale

from bot.model.tub import Sanitizer
from bot.talk.understand import Heard, number, readings
from bot.talk.understand.events import events
from bot.talk.understand.moments import moment
from bot.talk.understand.tokens import tokens
from bot.talk.words import languages
from dosing import Said

EARLIER = timedelta(hours=6)
"""A test that long ago is not one of now: chlorine may be gone over a night (common practice)."""
A_WEEKDAY = timedelta(hours=36)
"""A weekday alone may be the name of a test that is done today (common practice)."""
LOST = 1 / 3
"""What is left of it at most where a sanitizer does not hold overnight (common practice)."""
_CLAUSES = re.compile(
    r"(?<!\d)[,.](?!\d)|(?<=\d)[,.](?!\d)|[;\n]|->|→|>>"
    r"|\b(?:and|but|now|today|then|und|aber|jetzt|heute|dann|et|mais|maintenant|aujourd'hui|puis|y|pero|ahora|hoy)\b",
    re.IGNORECASE,
)
_SINCE = re.compile(r"\b(?:since|still|seit|immer noch|depuis|toujours|desde|sigue)\b", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Earlier:
    """What was read earlier, by key, and what a text says of now."""

    heard: Heard
    then: Mapping[str, Said] = field(default_factory=dict)

    @property
    def lost(self) -> bool:
        """Whether most of the sanitizer of an earlier reading is gone now."""
        for key in ("fc", "br"):
            then, now = self.then.get(key), self.heard.values.get(key)
            if then and now and then.low and now.high is not None and now.high <= LOST * then.low:
                return True
        return False


def told_apart(text: str, now: datetime, sanitizer: Sanitizer | None) -> Earlier:
    """The readings of `text` that are of now, and those that it places hours earlier. `now` is aware of its zone.

    A number alone in what is said of now belongs to the sanitizer of which an earlier one was told.
    """
    whole = readings(text, sanitizer=sanitizer)
    then: dict[str, Said] = {}
    rest: list[str] = []
    for clause in _clauses(text):
        said = readings(clause, sanitizer=sanitizer).values
        at, _ = moment(tokens(clause), now)
        least = A_WEEKDAY if _weekdays().search(clause) else EARLIER
        if said and now - at >= least and not _SINCE.search(clause) and not events(clause, now):
            then |= said
        else:
            rest.append(clause)
    if not then:
        return Earlier(whole)
    heard = readings(". ".join(rest), sanitizer=sanitizer)
    for key in ("fc", "br"):
        if key in then and key not in heard.values:
            bare = next((found for clause in rest if isinstance(found := number(clause, key), Said)), None)
            if bare:
                heard = replace(heard, values={**heard.values, key: bare})
    return Earlier(heard, then)


@cache
def _weekdays() -> re.Pattern[str]:
    names = {
        name.casefold().rstrip(".")
        for language in languages()
        for width in ("wide", "abbreviated")
        for name in Locale.parse(language).days["format"][width].values()
    }
    return re.compile(rf"\b(?:{'|'.join(sorted(names, key=len, reverse=True))})\b", re.IGNORECASE)


def _clauses(text: str) -> Iterator[str]:
    return (part.strip() for part in _CLAUSES.split(text) if part.strip())

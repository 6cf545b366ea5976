"""Days as they stand in cells: real dates, day numbers, and text in four languages and three orders."""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, timedelta
from functools import cache
from typing import Literal

from babel.dates import get_month_names

from bot.desk.intake.columns import bare
from bot.desk.intake.table import ZERO, Cell, Formula

Order = Literal["day_first", "month_first"]
FIRST = date(1970, 1, 1)
AHEAD = timedelta(days=550)
"""How far ahead a delivery may be planned."""
LEAST_NUMBER, MOST_NUMBER = 25_569, 73_050
"""Day numbers that are dates of 1970 to 2099."""
MONTH_FIRST = frozenset({"US", "PH", "FM", "MH", "PW", "PR", "GU", "VI", "AS"})
"""Countries that write the month first (CLDR)."""
_TIME = re.compile(r"[T ]\d{1,2}:\d\d.*$")
_NUMERIC = re.compile(r"(\d{1,4})[./\-\s](\d{1,2})[./\-\s](\d{1,4})\.?")


@dataclass(frozen=True, slots=True)
class Day:
    """The day that a cell means; None with the `code` of what keeps it from being known."""

    day: date | None
    code: str = ""
    said: str = ""


@cache
def months() -> dict[str, int]:
    """Month names and their short forms, bare, in the four languages."""
    found: dict[str, int] = {"sept": 9}
    for language in ("en", "de", "fr", "es"):
        for width in ("wide", "abbreviated"):
            for context in ("format", "stand-alone"):
                names = get_month_names(width, context, language)
                found |= {bare(name): number for number, name in names.items()}
    return found


def read_day(cell: Cell, order: Order | None, today: date, zero: date = ZERO) -> Day:  # noqa: PLR0911
    """The day in a cell. `order`: whether the day or the month stands first where both are possible; None while nobody
    has said. `zero`: the day that a day number counts from.
    """
    if isinstance(cell, Formula):
        return Day(None, "formula")
    if isinstance(cell, date):
        return _plausible(cell, cell.isoformat(), today)
    if isinstance(cell, float):
        return _numbered(cell, f"{cell:g}", today, zero)
    said = " ".join(cell.split())
    if not said:
        return Day(None)
    text = _TIME.sub("", said)
    if re.fullmatch(r"\d{5}(?:[.,]\d+)?", text):
        return _numbered(float(text.replace(",", ".")), said, today, zero)
    choices = _choices(text)
    if not choices:
        return Day(None, "date_unreadable", said)
    if len(choices) == 1 or choices["day_first"] == choices["month_first"]:
        return _plausible(next(iter(choices.values())), said, today)
    if order is None:
        return Day(None, "date_order", said)
    return _plausible(choices[order], said, today)


def _numbered(number: float, said: str, today: date, zero: date) -> Day:
    if not LEAST_NUMBER <= number <= MOST_NUMBER:
        return Day(None, "date_unreadable", said)
    return _plausible(zero + timedelta(days=int(number)), said, today)


def _plausible(day: date, said: str, today: date) -> Day:
    return Day(day) if FIRST <= day <= today + AHEAD else Day(None, "date_implausible", said)


def _choices(text: str) -> dict[str, date]:
    """The days that a text may mean, by the order that it would be written in."""
    if named := _with_month_name(text):
        return {"named": named}
    if compact := re.fullmatch(r"((?:19|20)\d\d)(\d\d)(\d\d)", text):
        return _made(("iso", int(compact[1]), int(compact[2]), int(compact[3])))
    found = _NUMERIC.fullmatch(text)
    if not found:
        return {}
    first, second, third = found.groups()
    if len(first) == 4:
        return _made(("iso", int(first), int(second), int(third)))
    if len(third) == 3 or len(first) > 2:
        return {}
    year = int(third) if len(third) == 4 else _full_year(int(third))
    return _made(("day_first", year, int(second), int(first)), ("month_first", year, int(first), int(second)))


def _made(*parts: tuple[str, int, int, int]) -> dict[str, date]:
    found: dict[str, date] = {}
    for order, year, month, day in parts:
        try:
            found[order] = date(year, month, day)
        except ValueError:
            continue
    return found


def _full_year(short: int) -> int:
    """Two digits of a year: 70 and above are of the last century (common practice)."""
    return short + (1900 if short >= 70 else 2000)


def _with_month_name(text: str) -> date | None:
    words = [
        word
        for word in re.findall(r"\d+|[^\W\d_]+", bare(text))
        if word not in ("de", "del", "of", "st", "nd", "rd", "th", "er")
    ]
    if len(words) == 4 and not words[0].isdigit() and words[0] not in months():
        words = words[1:]
    named = [months()[word] for word in words if word in months()]
    figures = [int(word) for word in words if word.isdigit()]
    if len(words) != 3 or len(named) != 1 or len(figures) != 2:
        return None
    day, year = figures if figures[0] <= 31 else figures[::-1]
    made = _made(("named", year if year > 99 else _full_year(year), named[0], day))
    return made.get("named")


def order_of(cells: Iterable[Cell], country: str) -> Order | None:
    """Which comes first in a column, by the cells that can be read one way only; None where somebody has to be asked:
    where both orders occur, or none says.

    Days with points between them are German and put the day first.
    """
    seen: set[str] = set()
    open_ones = False
    for cell in cells:
        if not isinstance(cell, str):
            continue
        text = _TIME.sub("", " ".join(cell.split()))
        choices = {order: day for order, day in _choices(text).items() if order in ("day_first", "month_first")}
        if len(choices) == 1:
            seen.update(choices)
        elif len(choices) == 2 and choices["day_first"] != choices["month_first"]:
            if "." in text:
                seen.add("day_first")
            open_ones = True
    if len(seen) == 1:
        return "day_first" if "day_first" in seen else "month_first"
    if not open_ones and not seen:
        return "month_first" if country in MONTH_FIRST else "day_first"
    return None

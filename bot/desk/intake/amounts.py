"""Numbers and volumes as they stand in cells: `1.350`, `1 200,5`, `425 gal`, `1200-1300`."""

import re
from dataclasses import dataclass
from typing import Literal

from bot.desk.intake.columns import bare, meanings
from bot.desk.intake.table import Cell, Formula

LITRES = {"litres": 1.0, "m3": 1000.0, "usgal": 3.785411784, "impgal": 4.54609}
"""Litres in a unit: NIST Handbook 44, appendix C; the imperial gallon by the UK's Units of Measurement Regulations."""
LEAST, MOST = 500.0, 3500.0
"""Litres of a hot tub (common practice); what lies far outside is a swim spa, a pool or a slip."""
SMALLEST, LARGEST = 200.0, 4000.0
"""Litres that are taken where the unit is certain."""

Unit = Literal["litres", "usgal", "impgal"]
_SPACES = re.compile(r"[\s\u00a0\u202f'’]")
_NUMBER = re.compile(r"\d[\d.,\s\u00a0\u202f'’]*")
_RANGE = re.compile(r"\d[\d.,\s\u00a0\u202f]*(?:-|–|—|\bto\b|\bbis\b|\bà\b|\ba\b|/)\s*\d")


def numbers(text: str) -> tuple[float, ...]:
    """What a number may mean: one value, or two where its only mark may part thousands or decimals."""
    digits = _SPACES.sub("", text.strip())
    if not re.fullmatch(r"\d+(?:[.,]\d+)*|[.,]\d+", digits):
        return ()
    marks = [mark for mark in digits if mark in ".,"]
    if not marks:
        return (float(digits),)
    if len(set(marks)) == 2:
        whole, _, part = digits.rpartition(marks[-1])
        if marks.count(marks[-1]) > 1:
            return ()
        return (float(re.sub(r"[.,]", "", whole) + "." + part),)
    groups = digits.split(marks[0])
    thousands = all(len(group) == 3 for group in groups[1:]) and 1 <= len(groups[0]) <= 3
    if len(marks) > 1:
        return (float("".join(groups)),) if thousands else ()
    decimal = float(digits.replace(",", "."))
    return (float("".join(groups)), decimal) if thousands else (decimal,)


@dataclass(frozen=True, slots=True)
class Volume:
    """Litres that a cell means; None with the `code` of what keeps it from being known."""

    litres: float | None
    code: str = ""
    said: str = ""
    as_gallons: tuple[float, float] = (0.0, 0.0)
    """For a bare number that may be gallons: the litres of that many US and imperial ones."""


def read_volume(cell: Cell, header_unit: str | None, plain_unit: Unit | None, country: str) -> Volume:  # noqa: PLR0911
    """The volume in a cell. `header_unit`: the unit in the column's title; `plain_unit`: what a number without a unit
    means where it could be either; None while nobody has said.
    """
    if isinstance(cell, Formula):
        return Volume(None, "formula")
    said = _said(cell)
    if not said:
        return Volume(None)
    if _RANGE.search(said):
        return Volume(None, "volume_range", said)
    found = _NUMBER.search(said)
    words = bare(said[found.end() :] if found else said).replace("m 3", "m3")
    if said.rstrip().endswith("m³"):
        words = "m3"
    units = meanings()["units"]
    if words in units["people"]:
        return Volume(None, "volume_people", said)
    if not found or (words and all(words not in names for names in units.values())) or said[: found.start()].strip():
        return Volume(None, "volume_unreadable", said)
    unit = next((name for name, names in units.items() if words in names), header_unit)
    values = (float(cell),) if isinstance(cell, float) else numbers(found.group())
    if not values:
        return Volume(None, "volume_unreadable", said)
    if unit == "gal":
        return _gallons(values, said, plain_unit, country)
    if unit is not None:
        return _certain(values, LITRES[unit], said)
    return _bare_number(values, said, plain_unit)


def _said(cell: Cell) -> str:
    if isinstance(cell, float):
        return f"{cell:g}" if cell < 1e6 else f"{cell:.0f}"
    return cell.strip() if isinstance(cell, str) else str(cell)


def _certain(values: tuple[float, ...], factor: float, said: str) -> Volume:
    litres = next((value * factor for value in values if SMALLEST <= value * factor <= LARGEST), None)
    return Volume(None, "volume_out_of_range", said) if litres is None else Volume(round(litres, 1))


def _gallons(values: tuple[float, ...], said: str, plain_unit: Unit | None, country: str) -> Volume:
    """Gallons of which nobody says whose: those of the United States, unless somebody says otherwise."""
    taken = _certain(values, LITRES["impgal" if plain_unit == "impgal" else "usgal"], said)
    if taken.litres is None or plain_unit in ("usgal", "impgal") or country == "US":
        return taken
    return Volume(taken.litres, "volume_us_gallons", said)


def _bare_number(values: tuple[float, ...], said: str, plain_unit: Unit | None) -> Volume:
    if plain_unit is not None:
        chosen = next((value * LITRES[plain_unit] for value in values if _fits(value * LITRES[plain_unit])), None)
        if chosen is not None:
            return Volume(round(chosen, 1))
    litres = next((value for value in values if LEAST <= value <= MOST), None)
    if litres is not None and (plain_unit is not None or not is_either(litres)):
        return Volume(litres)
    either = next((value for value in values if is_either(value)), None)
    if either is not None:
        gallons = (round(either * LITRES["usgal"]), round(either * LITRES["impgal"]))
        return Volume(None, "volume_unit", said, gallons)
    return Volume(None, "volume_out_of_range", said)


def _fits(litres: float) -> bool:
    return SMALLEST <= litres <= LARGEST


def is_either(number: float) -> bool:
    """Whether a bare number may be gallons: then it may also be the litres of a small tub."""
    return number * LITRES["impgal"] >= LEAST and number * LITRES["usgal"] <= MOST


def unit_of_column(cells: list[Cell], country: str) -> Unit | None:
    """What bare numbers in a column are, where the column itself says so; None where somebody has to be asked.

    Where all are of a size that litres alone have, or none is as small as gallons are, they are litres, but in the
    United States, where gallons are usual.
    """
    bare_numbers = [value for cell in cells if (value := _only_number(cell)) is not None]
    small = [value for value in bare_numbers if value < LEAST and is_either(value)]
    middle = [value for value in bare_numbers if value >= LEAST and is_either(value)]
    large = [value for value in bare_numbers if not is_either(value) and LEAST <= value <= MOST]
    if not small and (large or country != "US"):
        return "litres"
    if not large and not small and not middle:
        return "litres"
    return None


def _only_number(cell: Cell) -> float | None:
    if isinstance(cell, float):
        return cell
    if isinstance(cell, str) and (values := numbers(cell)):
        return next((value for value in values if LEAST <= value <= MOST), values[0])
    return None

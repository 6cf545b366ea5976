"""A table as it stands in a file: rows of cells, each row with the line it begins on."""

from dataclasses import dataclass
from datetime import date

MOST_BYTES = 20_000_000
MOST_ROWS = 100_000
MOST_COLUMNS = 200
MOST_CHARACTERS = 4_000
"""Of one cell."""
ZERO, MAC_ZERO = date(1899, 12, 30), date(1904, 1, 1)
"""The day that a spreadsheet's day number 0 stands for (ECMA-376 part 1, 18.17.4.1): two systems are in use."""


class Unreadable(Exception):
    """A file that no owner can be taken from. `code` names the sentence that says why and what would be right.

    What it quotes of the file fits on the line of that sentence.
    """

    def __init__(self, code: str, **values: str | int) -> None:
        super().__init__(code)
        self.code = code
        self.values = {
            name: " ".join(plain(value).split())[:200] if isinstance(value, str) else value
            for name, value in values.items()
        }


@dataclass(frozen=True, slots=True)
class Formula:
    """A cell that holds a formula whose result was never saved."""


Cell = str | float | date | Formula
"""Text as it was written, a number, or a day. Empty is ""."""


@dataclass(frozen=True, slots=True)
class Row:
    """One row. `line` counts from 1, as an editor or a spreadsheet does."""

    line: int
    cells: tuple[Cell, ...]

    @property
    def is_empty(self) -> bool:
        """Whether nothing but spaces stands in it."""
        return all(isinstance(cell, str) and not cell.strip() for cell in self.cells)


@dataclass(frozen=True, slots=True)
class Table:
    """All rows of a file, and how it had to be read.

    `encoding` and `separator` are those of a CSV file, `sheet` and `sheets` those of a workbook. `certain`: the
    encoding follows from the bytes, it is not the likeliest of several.
    """

    rows: tuple[Row, ...]
    encoding: str = ""
    separator: str = ""
    certain: bool = True
    sheet: str = ""
    sheets: tuple[str, ...] = ()
    zero: date = ZERO


def plain(text: str) -> str:
    """A cell's text without what no reader sees: control characters, marks of direction and of byte order."""
    kept = "".join(mark for mark in text if mark in "\n\t" or (mark.isprintable() or mark.isspace()))
    return kept.replace("\r\n", "\n").replace("\r", "\n")[:MOST_CHARACTERS].strip()

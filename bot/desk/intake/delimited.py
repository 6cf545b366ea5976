"""CSV in whatever encoding and with whatever separator a spreadsheet wrote it."""

import codecs
import csv
import io
from collections import Counter
from collections.abc import Iterator
from itertools import islice

from charset_normalizer import from_bytes

from bot.desk.intake.table import MOST_CHARACTERS, MOST_COLUMNS, MOST_ROWS, Row, Table, Unreadable, plain
from bot.desk.leaving import MARKS_OF_FORMULAS

MARKS = (
    (codecs.BOM_UTF8, "utf-8-sig"),
    (codecs.BOM_UTF32_LE, "utf-32"),
    (codecs.BOM_UTF32_BE, "utf-32"),
    (codecs.BOM_UTF16_LE, "utf-16"),
    (codecs.BOM_UTF16_BE, "utf-16"),
)
"""Byte-order marks, the longer before those that they begin with."""
OLD_PAGES = {
    **dict.fromkeys(("PL", "CZ", "SK", "HU", "SI", "HR", "RO", "BA", "AL"), "cp1250"),
    **dict.fromkeys(("RU", "UA", "BY", "BG", "RS", "MK"), "cp1251"),
    **dict.fromkeys(("GR", "CY"), "cp1253"),
    "TR": "cp1254",
    **dict.fromkeys(("EE", "LV", "LT"), "cp1257"),
}
"""The code page in which spreadsheets of a country save CSV; elsewhere it is Windows-1252."""
WESTERN = "cp1252"
OTHERS = ("cp1252", "cp1250", "cp1251", "cp1253", "cp1254", "cp1257", "cp850", "mac_roman")
SEPARATORS = (";", ",", "\t", "|")
LOOKED_AT = 60
"""Rows that decide which separator it is."""
LONGEST_CELL = 50 * MOST_CHARACTERS


def read_delimited(content: bytes, country: str = "", encoding: str = "") -> Table:
    """The rows of a CSV file. `country` tells which old code page is likely; `encoding` where somebody said so.

    Raises Unreadable.
    """
    found, certain = (encoding, True) if encoding else encoding_of(content, country)
    try:
        text = content.decode(found)
    except (ValueError, LookupError):
        raise Unreadable("encoding", encoding=found) from None
    named, text, first = _named_separator(text)
    separator = named or separator_of(text)
    return Table(tuple(_rows(text, separator, first)), found.removesuffix("-sig"), separator, certain)


def encoding_of(content: bytes, country: str = "") -> tuple[str, bool]:
    """The encoding of a text, and whether it follows from the bytes. Raises Unreadable where nothing fits."""
    for mark, name in MARKS:
        if content.startswith(mark):
            return name, True
    if (wide := _wide(content[:4000])) is not None:
        return wide, True
    try:
        content.decode("utf-8")
    except UnicodeDecodeError:
        return _old_page(content, OLD_PAGES.get(country, WESTERN)), False
    return "utf-8", True


def _wide(start: bytes) -> str | None:
    """UTF-16 without its mark: in a text that is mostly ASCII every other byte is nothing."""
    pairs = len(start) // 2
    if pairs < 4:
        return None
    for name, nothing in (("utf-16-le", start[1::2]), ("utf-16-be", start[0::2])):
        if nothing.count(0) > pairs * 0.6:
            return name
    return None


def _old_page(content: bytes, usual: str) -> str:
    """The usual page of the country where it gives a plausible text, else the one that gives the most plausible."""
    if content.count(0):
        raise Unreadable("not_a_table")
    lines = io.TextIOWrapper(io.BytesIO(content), "latin-1", newline="")
    odd = "".join(islice((line for line in lines if not line.isascii()), 10_000))[:100_000].encode("latin-1")
    matches = list(from_bytes(odd, cp_isolation=list(OTHERS)))
    if any(usual in match.could_be_from_charset for match in matches):
        return usual
    if matches:
        return matches[0].encoding
    try:
        content.decode(usual)
    except UnicodeDecodeError:
        raise Unreadable("encoding_unknown") from None
    return usual


def _named_separator(text: str) -> tuple[str, str, int]:
    """`sep=;`, the line with which some spreadsheets name the separator; the rest, and the line on which it begins."""
    head, newline, rest = text.partition("\n")
    said = head.strip().strip('"')
    if newline and len(said) <= 5 and said.lower().startswith("sep=") and said[4:]:
        return said[4], rest, 2
    return "", text, 1


def separator_of(text: str) -> str:
    """The separator that cuts most rows into the same number of cells; a comma where there is one column only."""
    start = text[:200_000]
    best, most = ",", 0.0
    for separator in SEPARATORS:
        widths = Counter(_widths(start, separator))
        if not widths:
            continue
        width, times = max(
            ((w, n) for w, n in widths.items() if w > 1), key=lambda item: item[1] * item[0], default=(1, 0)
        )
        score = times / widths.total() * (width - 1) ** 0.5
        if score > most:
            best, most = separator, score
    return best


def _widths(text: str, separator: str) -> list[int]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator)
    widths: list[int] = []
    try:
        for cells in reader:
            if any(cell.strip() for cell in cells):
                widths.append(len(cells))
            if len(widths) >= LOOKED_AT:
                break
    except csv.Error:
        pass
    return widths


def _rows(text: str, separator: str, first: int) -> Iterator[Row]:
    """The rows, strictly: what swallows other rows is an error, and none is half read. Raises Unreadable."""
    csv.field_size_limit(LONGEST_CELL)
    reader = csv.reader(_lines(text, separator, first), delimiter=separator, strict=True)
    count, width = 0, 0
    while True:
        line = reader.line_num + first
        try:
            cells = next(reader, None)
        except csv.Error as wrong:
            code = "cell_too_long" if "larger than" in str(wrong) else "open_quote"
            raise Unreadable(code, line=line) from None
        if cells is None:
            return
        count += 1
        if count > MOST_ROWS:
            raise Unreadable("too_many_rows", most=MOST_ROWS)
        if len(cells) > MOST_COLUMNS:
            raise Unreadable("too_many_columns", line=line, most=MOST_COLUMNS)
        width = max(width, len(cells))
        if any(_swallows(cell, separator, width) for cell in cells if "\n" in cell):
            raise Unreadable("open_quote", line=line)
        yield Row(line, tuple(_disarmed(plain(cell)) for cell in cells))


def _lines(text: str, separator: str, first: int) -> Iterator[str]:
    """The lines. One with more separators than a cell has characters is wider than any table, and never cut up."""
    for number, line in enumerate(io.StringIO(text, newline=""), first):
        if line.count(separator) > LONGEST_CELL:
            raise Unreadable("too_many_columns", line=number, most=MOST_COLUMNS)
        yield line


def _disarmed(cell: str) -> str:
    """A cell without the apostrophe that keeps a spreadsheet from calculating it."""
    return cell[1:] if cell[:1] == "'" and cell[1:].lstrip().startswith(MARKS_OF_FORMULAS) else cell


def _swallows(cell: str, separator: str, width: int) -> bool:
    """Whether rows of the table stand inside a cell, because a quotation mark before them was not closed."""
    return width > 2 and any(inner.count(separator) >= width - 1 for inner in cell.splitlines()[1:])

"""XLSX workbooks, read a row at a time and within bounds, whatever they claim to be."""

import contextlib
import io
import math
import zipfile
from collections.abc import Iterator
from datetime import date, datetime, time
from typing import IO, Any
from xml.parsers import expat

from openpyxl import load_workbook
from openpyxl.utils.datetime import CALENDAR_MAC_1904

from bot.desk.intake.table import MAC_ZERO, MOST_COLUMNS, MOST_ROWS, ZERO, Cell, Formula, Row, Table, Unreadable, plain

MOST_UNPACKED = 100_000_000
"""Bytes of all parts together, as the archive declares them; an archive never yields more than it declares."""
MOST_PARTS = 3_000
PACKED_TOO_WELL = 200
"""How many times smaller than its content a large part may be: honest sheets reach some 40."""
LARGE_PART = 5_000_000
MOST_ELEMENTS = 1_000_000
"""Of XML, in one row or in all that stands outside rows: so many are held in memory at once."""
ROW = "http://schemas.openxmlformats.org/spreadsheetml/2006/main row"
EMPTY_TAIL = 500
"""Empty rows in a row after which nothing more is expected: formatted sheets may go on for a million."""
OLD_WORKBOOK = b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"
"""The container of .xls files, and of workbooks that ask for a password."""
ZIP = b"PK\x03\x04"
NOT_VALUES = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!")


def read_workbook(content: bytes, sheet: str = "") -> Table:
    """The rows of one sheet: the named one, else the first that has any. Raises Unreadable."""
    _check_archive(content)
    book = _open(content, values=True)
    zero = MAC_ZERO if book.epoch == CALENDAR_MAC_1904 else ZERO
    try:
        names = tuple(part.title for part in book.worksheets)
        chosen, rows = _first_with_rows(content, book, _wanted(sheet, names))
    except Unreadable:
        raise
    except Exception as wrong:  # a broken part raises whatever the part's reader meets
        raise Unreadable("broken_workbook") from wrong
    finally:
        book.close()
    return Table(tuple(rows), sheet=chosen, sheets=names, zero=zero)


def _wanted(sheet: str, names: tuple[str, ...]) -> tuple[str, ...]:
    if sheet and sheet not in names:
        raise Unreadable("no_such_sheet", sheet=sheet, sheets=", ".join(names)[:200])
    return (sheet,) if sheet else names


def _first_with_rows(content: bytes, book: Any, names: tuple[str, ...]) -> tuple[str, list[Row]]:  # noqa: ANN401
    for name in names:
        rows = list(_rows(content, book, name))
        if any(not row.is_empty for row in rows):
            return name, rows
    raise Unreadable("empty")


def _check_archive(content: bytes) -> None:
    if content.startswith(OLD_WORKBOOK):
        raise Unreadable("old_workbook")
    try:
        with zipfile.ZipFile(io.BytesIO(content)) as archive:
            _check_parts(archive)
    except Unreadable:
        raise
    except Exception as wrong:  # a damaged archive raises whatever the reader of archives meets
        raise Unreadable("broken_workbook") from wrong


def _check_parts(archive: zipfile.ZipFile) -> None:
    parts = archive.infolist()
    names = {part.filename for part in parts}
    if "[Content_Types].xml" not in names or not any(name.startswith("xl/") for name in names):
        raise Unreadable("other_archive")
    unpacked = sum(part.file_size for part in parts)
    large = [part for part in parts if part.file_size > LARGE_PART]
    dense = any(part.file_size > PACKED_TOO_WELL * part.compress_size for part in large)
    if len(parts) > MOST_PARTS or unpacked > MOST_UNPACKED or dense:
        raise Unreadable("too_large_inside")
    for part in large:
        with archive.open(part) as content_of:
            _check_elements(content_of)


def _check_elements(part: IO[bytes]) -> None:
    """Refuse XML that would be held in memory as too many elements. What is no XML is left to whoever reads it."""
    since_row = 0

    def begins(name: str, _: object) -> None:
        nonlocal since_row
        since_row = 0 if name == ROW else since_row + 1
        if since_row > MOST_ELEMENTS:
            raise Unreadable("too_large_inside")

    def declares(*_: object) -> None:
        raise Unreadable("broken_workbook")

    parser = expat.ParserCreate(namespace_separator=" ")
    parser.StartElementHandler = begins
    parser.EntityDeclHandler = declares
    with contextlib.suppress(expat.ExpatError):
        parser.ParseFile(part)


def _open(content: bytes, *, values: bool) -> Any:  # noqa: ANN401  (two classes of openpyxl's, neither of which is named in its types)
    try:
        return load_workbook(io.BytesIO(content), read_only=True, data_only=values, keep_links=False)
    except Exception as wrong:  # a broken part raises whatever the part's reader meets
        raise Unreadable("broken_workbook") from wrong


def _rows(content: bytes, book: Any, name: str) -> Iterator[Row]:  # noqa: ANN401
    sheet = book[name]
    sheet.reset_dimensions()
    unsaved = _unsaved_formulas(content, name)
    empty = 0
    for line, cells in enumerate(sheet.iter_rows(values_only=True), start=1):
        if line > MOST_ROWS:
            raise Unreadable("too_many_rows", most=MOST_ROWS)
        found = tuple(map(_cell, cells[:MOST_COLUMNS]))
        if places := unsaved.get(line):
            found = tuple(Formula() if at in places and not cell else cell for at, cell in enumerate(found))
        row = Row(line, _without_tail(found))
        empty = empty + 1 if row.is_empty else 0
        if empty > EMPTY_TAIL:
            return
        yield row


def _without_tail(cells: tuple[Cell, ...]) -> tuple[Cell, ...]:
    """The cells up to the last one that holds anything."""
    end = next((at for at in range(len(cells), 0, -1) if cells[at - 1] != ""), 0)
    return cells[:end]


def _cell(value: object) -> Cell:  # noqa: PLR0911
    match value:
        case None:
            return ""
        case bool():
            return str(value)
        case datetime():
            return value.date()
        case date():
            return value
        case time():
            return value.isoformat()
        case int() | float():
            return float(value) if math.isfinite(value) else ""
        case str() if value in NOT_VALUES:
            return ""
        case _:
            return plain(str(value))


def _unsaved_formulas(content: bytes, name: str) -> dict[int, set[int]]:
    """Lines and columns (from 0) of formulas; looked for only where there may be one."""
    if not _holds_formulas(content):
        return {}
    book = _open(content, values=False)
    try:
        found: dict[int, set[int]] = {}
        sheet = book[name]
        sheet.reset_dimensions()
        for line, cells in enumerate(sheet.iter_rows(max_row=MOST_ROWS), start=1):
            places = {at for at, cell in enumerate(cells) if cell.data_type == "f"}
            if places:
                found[line] = places
        return found
    finally:
        book.close()


def _holds_formulas(content: bytes) -> bool:
    with zipfile.ZipFile(io.BytesIO(content)) as archive:
        for part in archive.namelist():
            if not part.startswith("xl/worksheets/"):
                continue
            with archive.open(part) as sheet:
                tail = b""
                while block := sheet.read(1 << 16):
                    whole = tail + block
                    if b"<f>" in whole or b"<f " in whole:
                        return True
                    tail = block[-3:]
    return False

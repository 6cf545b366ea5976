"""Sheets of the tests' own, read and brought in as a dealer's would be."""

import io
from datetime import UTC, date, datetime

from openpyxl import Workbook

from bot.desk.intake.opening import open_table
from bot.desk.intake.sheet import Choices, OwnerRow, Sheet, read_sheet

TODAY = date(2027, 3, 1)
NOW = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)


def sheet_of(text: str | bytes, *, country: str = "DE", **choices: object) -> Sheet:
    """A CSV text read as owners; `choices` are what the dealer said of it."""
    content = text.encode() if isinstance(text, str) else text
    said = Choices.model_validate({"country": country, **choices})
    return read_sheet(open_table(content, country=country), said, TODAY)


def owner_of(text: str, **choices: object) -> OwnerRow:
    """The only owner of a sheet."""
    [owner] = sheet_of(text, **choices).owners
    return owner


def codes(row: OwnerRow) -> list[str]:
    return [remark.code for remark in row.remarks]


def workbook(*rows: list[object], title: str = "Owners", formats: dict[str, str] | None = None) -> bytes:
    """An XLSX workbook of one sheet."""
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = title
    for row in rows:
        sheet.append(row)
    for cell, shown in (formats or {}).items():
        sheet[cell].number_format = shown
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()

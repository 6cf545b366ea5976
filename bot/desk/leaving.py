"""Tables that leave the house: CSV that no spreadsheet calculates with, whoever wrote what is in it."""

import csv
import io
import re
from collections.abc import Iterable, Sequence
from datetime import date

import phonenumbers

MARKS_OF_FORMULAS = ("=", "+", "-", "@", "\t", "\r", "\n", "|", "%", "＝", "＋", "－", "＠")
"""With these a cell begins that spreadsheets take for a formula or a command (OWASP, CSV injection)."""
_PHONE = re.compile(r"\+\d{6,15}")

Value = str | float | date | None


def csv_of(titles: Sequence[str], rows: Iterable[Sequence[Value]]) -> bytes:
    """A CSV file in UTF-8 with its mark, by which spreadsheets know it, and lines as RFC 4180 has them."""
    out = io.StringIO(newline="")
    writer = csv.writer(out)
    writer.writerow([harmless(title) for title in titles])
    for row in rows:
        writer.writerow([harmless(value) for value in row])
    return out.getvalue().encode("utf-8-sig")


def harmless(value: Value) -> str:
    """A cell's text, with an apostrophe before what would be calculated. Numbers stay numbers, phone numbers can still
    be read and dialled.
    """
    match value:
        case None:
            return ""
        case date():
            return value.isoformat()
        case int() | float():
            return f"{value:g}" if abs(value) < 1e6 else f"{value:.0f}"
        case str() if _PHONE.fullmatch(value):
            return _spaced(value)
        case str() if value.lstrip(" \xa0\u200b\ufeff").startswith(MARKS_OF_FORMULAS):
            return "'" + value
    return value


def _spaced(phone: str) -> str:
    """A number in groups, which no spreadsheet takes for one to calculate with."""
    try:
        number = phonenumbers.parse(phone)
    except phonenumbers.NumberParseException:
        return "'" + phone
    return str(phonenumbers.format_number(number, phonenumbers.PhoneNumberFormat.INTERNATIONAL))

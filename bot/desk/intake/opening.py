"""What kind of file it is, and its table."""

from bot.desk.intake.delimited import read_delimited
from bot.desk.intake.table import MOST_BYTES, Table, Unreadable
from bot.desk.intake.workbook import OLD_WORKBOOK, ZIP, read_workbook

FOREIGN = (b"%PDF", b"\x89PNG", b"\xff\xd8\xff", b"GIF8", b"{\\rtf", b"\x1f\x8b", b"Rar!", b"7z\xbc\xaf")
"""First bytes of files that people send in place of a table."""


def open_table(content: bytes, *, country: str = "", encoding: str = "", sheet: str = "") -> Table:
    """The table in a file's bytes, whatever the file is called. Raises Unreadable."""
    if not content.strip():
        raise Unreadable("empty")
    if len(content) > MOST_BYTES:
        raise Unreadable("too_many_bytes", most=MOST_BYTES // 1_000_000)
    if content.startswith((ZIP, OLD_WORKBOOK)):
        return read_workbook(content, sheet)
    if content.startswith(FOREIGN):
        raise Unreadable("not_a_table")
    table = read_delimited(content, country, encoding)
    if all(row.is_empty for row in table.rows):
        raise Unreadable("empty")
    return table

"""What is said of a dealer's sheet: why it can't be read, and what is wrong in a row."""

from collections.abc import Mapping

from bot.talk.words import Line, line


def unreadable(code: str, values: Mapping[str, object]) -> Line:
    """Why no owner can be taken from a file, and what would be right."""
    return line(f"intake.unreadable.{code}", None, **values)


def remark_line(at: int, column: str, code: str, values: Mapping[str, object]) -> Line:
    """What is wrong in a row, with its line and column, and what would be right."""
    what = what_is_wrong(code, values)
    if column:
        return line("intake.at", line=str(at), column=column, what=what)
    return line("intake.at_row", line=str(at), what=what)


def what_is_wrong(code: str, values: Mapping[str, object]) -> Line:
    """What is wrong in a cell or a row, and what would be right."""
    return line(f"intake.remark.{code}", None, **values)


def field_name(means: str | None) -> Line:
    """What a column holds, in words."""
    return line(f"intake.field.{means or 'none'}")

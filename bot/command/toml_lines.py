"""On which line of a TOML text something stands: the parser that reads it doesn't say."""

import re
from collections.abc import Sequence

Where = tuple[str | int, ...]
"""The way to a value: names of tables and keys, numbers of array tables from 0."""
_PART = r"""\s*(?:"((?:[^"\\]|\\.)*)"|'([^']*)'|([A-Za-z0-9_-]+))\s*"""
_KEY = re.compile(rf"{_PART}(?:\.{_PART})*")
_PARTS = re.compile(_PART)
_QUOTED = re.compile(r'"""|\'\'\'|"(?:[^"\\]|\\.)*"|\'[^\']*\'|#.*')


def lines_of(text: str) -> dict[Where, int]:
    """The line of every table and key of a TOML text that parses. What stands inside a value is on its key's line, and
    a key of an array that goes over several lines is on the line on which it begins.
    """
    found: dict[Where, int] = {}
    counts: dict[Where, int] = {}
    here: Where = ()
    depth, inside = 0, ""
    for number, row in enumerate(text.splitlines(), 1):
        if inside or depth:
            depth, inside = _after(row, depth, inside)
            continue
        bare = row.strip()
        if bare.startswith("["):
            here = _table(bare, counts)
            found.setdefault(here, number)
            continue
        key = _KEY.match(row)
        if key and row[key.end() :].startswith("="):
            found.setdefault((*here, *_names(key.group())), number)
            depth, inside = _after(row[key.end() + 1 :], 0, "")
    return found


def line_of(lines: dict[Where, int], where: Sequence[str | int]) -> int | None:
    """The line of a value, or of the nearest thing around it; None where nothing of it is in the text."""
    for length in range(len(where), 0, -1):
        if (number := lines.get(tuple(where[:length]))) is not None:
            return number
    return None


def _names(key: str) -> list[str]:
    return [double or single or plain for double, single, plain in _PARTS.findall(key)]


def _table(header: str, counts: dict[Where, int]) -> Where:
    """The way to the table that a header begins; in an array of tables with its number."""
    is_array = header.startswith("[[")
    names = _names(header.strip("[").partition("]")[0])
    way: Where = ()
    for place, name in enumerate(names):
        way = (*way, name)
        last = place == len(names) - 1
        if last and is_array:
            counts[way] = counts.get(way, -1) + 1
        if way in counts and (is_array or not last):
            way = (*way, counts[way])
    return way


def _after(row: str, depth: int, inside: str) -> tuple[int, str]:
    """How many brackets, and which long quotation marks, are open after a row."""
    while row:
        if inside:
            _, closed, row = row.partition(inside)
            if not closed:
                return depth, inside
            inside = ""
            continue
        mark = _QUOTED.search(row)
        plain = row[: mark.start()] if mark else row
        depth += plain.count("[") + plain.count("{") - plain.count("]") - plain.count("}")
        if mark is None or mark.group().startswith("#"):
            return depth, ""
        if mark.group() in ('"""', "'''"):
            inside = mark.group()
        row = row[mark.end() :]
    return depth, inside

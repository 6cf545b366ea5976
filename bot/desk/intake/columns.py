"""Which column means what: by its title in four languages, else by what stands in it."""

import re
import tomllib
import unicodedata
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cache, cached_property, lru_cache
from importlib.resources import files
from itertools import islice
from typing import Literal, get_args

from bot.desk.intake.table import Row, Table

Field = Literal[
    "name", "first_name", "last_name", "phone", "email", "number", "model", "serial", "volume", "sanitizer",
    "delivered", "bought", "language", "region", "tags", "note",
]  # fmt: skip
FIELDS: tuple[Field, ...] = get_args(Field)
SEVERAL: frozenset[Field] = frozenset({"phone", "email", "tags", "note"})
"""Fields that more than one column may hold."""
HEAD_ROWS = 30
"""How far down the titles are looked for: sheets begin with a headline, a date, empty rows."""
_WORDS = re.compile(r"[^\W_]+")
SAMPLE = 200
SHARE = 0.6
"""How many of a column's cells must look alike for an untitled column to be understood."""
EMAIL = re.compile(r"[^@\s]+@[^@\s]+\.[^@\s.]{2,}")
PHONE = re.compile(r"(?:\+|00?)[\d\s()./-]{7,20}")


@cache
def meanings() -> Mapping[str, Mapping[str, Sequence[str]]]:
    """The word lists."""
    return tomllib.loads((files("bot.desk.intake") / "meanings.toml").read_text(encoding="utf-8"))


@lru_cache(maxsize=20_000)
def bare(text: str) -> str:
    """Words alone: lower case, no accents, no punctuation, single spaces."""
    flat = text.lower()
    if not flat.isascii():
        flat = unicodedata.normalize("NFKD", text.replace("ß", "ss").casefold())
        flat = "".join(mark for mark in flat if not unicodedata.combining(mark))
    return " ".join(_WORDS.findall(flat))


@dataclass(frozen=True, slots=True)
class Column:
    """A column: its place from 0, its title as written, and what it seems to mean (None: nothing that is wanted)."""

    place: int
    title: str
    means: Field | None
    examples: tuple[str, ...] = ()

    @property
    def letter(self) -> str:
        """The column's name in a spreadsheet: A, B, ... Z, AA."""
        name, left = "", self.place
        while left >= 0:
            name, left = chr(65 + left % 26) + name, left // 26 - 1
        return name


@dataclass(frozen=True)
class Head:
    """The titles: `line` on which they stand (0 where a sheet has none), and the columns."""

    line: int
    columns: tuple[Column, ...]

    @cached_property
    def bare_titles(self) -> dict[int, str]:
        """The titles by place, words alone."""
        return {column.place: bare(column.title) for column in self.columns}

    @property
    def signature(self) -> str:
        """The titles as one text, by which a sheet of the same form is known again."""
        return "|".join(bare(column.title) for column in self.columns)

    def places(self, field: Field) -> tuple[int, ...]:
        """The columns that hold a field, from the left."""
        return tuple(column.place for column in self.columns if column.means == field)


def find_head(table: Table, chosen: Mapping[str, str] | None = None) -> Head:
    """The titles of a table and what they mean. `chosen`: what somebody said a title means ("" for nothing)."""
    best, most, at = None, 0, -1
    for row in islice(table.rows, HEAD_ROWS):
        found = sum(meaning_of(title) is not None for title in map(_text, row.cells))
        if found > most and not _is_data(row):
            best, most, at = row, found, row.line
    if best is None or (most == 1 and _filled(best) > 4 and len(table.rows) > HEAD_ROWS):
        at, best = 0, None
    width = max((len(row.cells) for row in islice(table.rows, SAMPLE)), default=0)
    titles = [_text(cell) for cell in best.cells] if best else []
    titles += [""] * (width - len(titles))
    below = [row for row in islice(table.rows, SAMPLE + HEAD_ROWS) if row.line > at and not row.is_empty][:SAMPLE]
    columns = [
        Column(place, title, None, _examples(below, place))
        for place, title in enumerate(titles)
        if title or any(place < len(row.cells) and row.cells[place] != "" for row in below)
    ]
    return Head(at, _matched(columns, below, chosen or {}))


def meaning_of(title: str) -> Field | None:
    """What a title means."""
    return _scored(title)[0]


@cache
def _scored(title: str) -> tuple[Field | None, int]:
    words = bare(_without_unit(title))
    if not words:
        return (None, 0) if unit_in(title) is None else ("volume", 1)
    best: tuple[Field | None, int] = (None, 0)
    for field in FIELDS:
        for name in meanings()[field]["titles"]:
            if words == name:
                return field, 100
            if len(name) > 3 and len(words) <= len(name) + 14 and _bounds(words, name) and len(name) > best[1]:
                best = field, len(name)
    return best


def _bounds(words: str, name: str) -> bool:
    return words.startswith(name + " ") or words.endswith(" " + name)


def _without_unit(title: str) -> str:
    return re.sub(r"[(\[].*?[)\]]", " ", title)


def unit_in(title: str) -> str | None:
    """The unit that a title names: `Volume (l)`, `Gallons`."""
    inside = " ".join(re.findall(r"[(\[](.*?)[)\]]", title))
    for text in (bare(inside), bare(title), bare(title).rpartition(" ")[2]):
        for unit in ("usgal", "impgal", "gal", "litres", "m3"):
            if text and text in meanings()["units"][unit]:
                return unit
    return None


def _matched(columns: list[Column], below: list[Row], chosen: Mapping[str, str]) -> tuple[Column, ...]:
    taken: dict[Field, tuple[int, int]] = {}
    said: dict[int, Field | None] = {}
    for column in columns:
        key = bare(column.title) or column.letter.lower()
        if key in chosen:
            means = next((field for field in FIELDS if field == chosen[key]), None)
            said[column.place] = means
            if means and means not in SEVERAL:
                taken[means] = (column.place, 1000)
            continue
        field, score = _scored(column.title)
        if field is None or field in SEVERAL:
            said[column.place] = field
        elif score > taken.get(field, (0, 0))[1]:
            if field in taken:
                said[taken[field][0]] = None
            taken[field] = (column.place, score)
            said[column.place] = field
        else:
            said[column.place] = None
    for column in columns:
        if said[column.place] is None and not column.title:
            said[column.place] = _by_content(below, column.place, set(taken) | {f for f in said.values() if f})
    _no_lone_parts(said)
    return tuple(Column(c.place, c.title, said[c.place], c.examples) for c in columns)


def _no_lone_parts(said: dict[int, Field | None]) -> None:
    """`Nom` beside `Prénom` is the family name; a delivery date says more than that of the purchase."""
    means = {field: place for place, field in said.items() if field}
    if "first_name" in means and "name" in means and "last_name" not in means:
        said[means["name"]] = "last_name"


def _by_content(below: list[Row], place: int, taken: set[Field]) -> Field | None:
    cells = [_text(row.cells[place]) for row in below if place < len(row.cells)]
    cells = [cell for cell in cells if cell]
    if not cells:
        return None
    looks: tuple[tuple[Field, int], ...] = (
        ("email", sum(EMAIL.fullmatch(cell) is not None for cell in cells)),
        ("phone", sum(PHONE.fullmatch(cell) is not None for cell in cells)),
        ("name", sum(re.fullmatch(r"[^\W\d_]+(?:[ ,.'-]+[^\W\d_]+){1,3}", cell) is not None for cell in cells)),
    )
    for field, count in looks:
        if count >= SHARE * len(cells) and field not in taken:
            return field
    return None


def _is_data(row: Row) -> bool:
    """Whether a row holds an address or a phone number: then it is an owner, not titles."""
    texts = list(map(_text, row.cells))
    return any(EMAIL.fullmatch(text) or PHONE.fullmatch(text) for text in texts)


def _filled(row: Row) -> int:
    return sum(bool(_text(cell)) for cell in row.cells)


def _examples(below: Iterable[Row], place: int) -> tuple[str, ...]:
    """Three cells of a column, those first in which a wrong encoding would show."""
    texts = [_text(row.cells[place]) for row in below if place < len(row.cells)]
    unlike = list(dict.fromkeys(text for text in texts if text))
    return tuple(sorted(unlike, key=str.isascii)[:3])


def _text(cell: object) -> str:
    if isinstance(cell, float):
        return f"{cell:.0f}" if cell == int(cell) else str(cell)
    return cell if isinstance(cell, str) else str(cell) if cell else ""

"""A table read as owners and tubs: each row understood, or remarked upon."""

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from datetime import date
from typing import Literal

from pydantic import Field as Limits

from bot.desk.intake.amounts import Unit, read_volume, unit_of_column
from bot.desk.intake.columns import Column, Field, Head, bare, find_head, meanings, unit_in
from bot.desk.intake.days import Order, order_of, read_day
from bot.desk.intake.remark import Remark
from bot.desk.intake.table import Cell, Formula, Row, Table, Unreadable
from bot.desk.intake.texts import (
    Read,
    alike_model,
    read_email,
    read_model,
    read_name,
    read_phone,
    read_serial,
    read_word,
    same_model,
    text_of,
)
from bot.model.record import Record

Reads = Callable[[str], Read]
NAMES: tuple[Field, ...] = ("name", "last_name", "first_name")
REACHES: tuple[Field, ...] = ("name", "last_name", "first_name", "phone", "email", "number", "serial")
"""Fields of which a sheet needs one at least: whose tub it is."""


class Choices(Record):
    """What somebody said about a sheet, where it doesn't say itself."""

    columns: dict[str, str] = Limits(default_factory=dict)
    """What a title means, by the bare title (or the column's letter): a field, or "" for nothing."""
    unit: Unit | None = None
    dates: Order | None = None
    country: str = ""
    """Where phone numbers without a country code are of."""
    models: dict[str, str] = Limits(default_factory=dict)
    """Which model another spelling means, or that it is one of its own."""
    encoding: str = ""
    sheet: str = ""


@dataclass(frozen=True, slots=True)
class Question:
    """What the sheet leaves open: `about` with the column, examples, and for models the one that may be meant."""

    about: Literal["unit", "dates", "model"]
    column: str
    examples: tuple[str, ...]
    meant: str = ""


@dataclass(frozen=True, slots=True)
class OwnerRow:
    """One row as an owner and a tub. Empty or None: the sheet doesn't say."""

    line: int
    name: str = ""
    phones: tuple[str, ...] = ()
    email: str = ""
    number: str = ""
    language: str = ""
    region: str = ""
    tags: tuple[str, ...] = ()
    note: str = ""
    model: str = ""
    built: int | None = None
    serial: str = ""
    volume: float | None = None
    sanitizer: str = ""
    delivered: date | None = None
    remarks: tuple[Remark, ...] = ()


@dataclass(frozen=True, slots=True)
class Sheet:
    """All that a table says. `skipped`: rows that are nobody: empty, repeated titles, totals."""

    head: Head
    owners: tuple[OwnerRow, ...]
    rejected: tuple[Remark, ...]
    skipped: tuple[Remark, ...]
    questions: tuple[Question, ...]
    choices: Choices
    """With what the sheet itself made certain."""


def read_sheet(table: Table, choices: Choices, today: date, models: Sequence[str] = ()) -> Sheet:
    """Owners and remarks. `models`: names of models that are known already. Raises Unreadable."""
    head = find_head(table, choices.columns)
    if not any(head.places(name) for name in REACHES):
        titles = ", ".join(column.title or "/".join(column.examples[:1]) for column in head.columns)
        raise Unreadable("no_columns", columns=titles[:300])
    rows = [row for row in table.rows if row.line > head.line]
    choices, questions = _settled(rows, head, choices)
    reader = _Reader(head, choices, table, today)
    owners, rejected, skipped = [], [], []
    for row in rows:
        if why := _skips(row, head):
            skipped.append(Remark(row.line, "", why))
            continue
        owner = reader.owner(row)
        if owner.name or owner.phones or owner.email or owner.number:
            owners.append(owner)
        else:
            rejected.append(Remark(row.line, "", "nobody"))
    owners, asked = _with_models(owners, head, choices, models)
    return Sheet(head, tuple(owners), tuple(rejected), tuple(skipped), (*questions, *asked), choices)


def _settled(rows: list[Row], head: Head, choices: Choices) -> tuple[Choices, list[Question]]:
    """Unit and order of dates as the columns show them; what they don't show is asked."""
    questions: list[Question] = []
    said: dict[str, object] = {}
    for column in head.columns:
        cells = [row.cells[column.place] for row in rows if column.place < len(row.cells)]
        if column.means == "volume" and choices.unit is None and unit_in(column.title) is None:
            unit = unit_of_column(cells, choices.country)
            said["unit"] = unit
            if unit is None:
                open_cells = [
                    text_of(cell) for cell in cells if read_volume(cell, None, None, "").code == "volume_unit"
                ]
                questions.append(Question("unit", column.title or column.letter, tuple(open_cells[:3])))
        if column.means in ("delivered", "bought") and choices.dates is None and "dates" not in said:
            order = order_of(cells, choices.country)
            said["dates"] = order
            if order is None:
                open_cells = [
                    text_of(cell)
                    for cell in cells
                    if read_day(cell, None, date.max.replace(year=2100)).code == "date_order"
                ]
                questions.append(Question("dates", column.title or column.letter, tuple(open_cells[:3])))
    return choices.model_copy(update=said), questions


def _skips(row: Row, head: Head) -> str:
    """Why a row is nobody's; empty where it is somebody's."""
    if row.is_empty:
        return "empty_row"
    filled = {place: text for place, cell in enumerate(row.cells) if (text := text_of(cell))}
    place, text = next(iter(filled.items()))
    first = bare(text)
    if head.line and len(filled) > 1 and first == head.bare_titles.get(place) and _are_titles(filled, head):
        return "titles_again"
    if first in meanings()["junk"]["totals"]:
        reaches = [at for field_ in ("phone", "email") for at in head.places(field_)]
        return "" if any(at in filled for at in reaches) else "total_row"
    return ""


def _are_titles(filled: Mapping[int, str], head: Head) -> bool:
    return all(head.bare_titles.get(at) == bare(said) for at, said in filled.items())


@dataclass
class _Reader:
    head: Head
    choices: Choices
    table: Table
    today: date
    remarks: list[Remark] = field(default_factory=list)
    row: Row = field(default_factory=lambda: Row(0, ()))

    def owner(self, row: Row) -> OwnerRow:
        self.row, self.remarks = row, []
        name, phones = self._name(), self._phones()
        name, phones = self._swapped(name, phones)
        model = read_model(self._text("model"))
        if model.year:
            self._remark("model", "model_year", model=model.name, year=str(model.year))
        owner = OwnerRow(
            line=row.line,
            name=name,
            phones=phones,
            email=self._first("email", read_email),
            number=self._text("number")[:60],
            language=self._one("language", lambda text: read_word(text, "languages")),
            region=self._text("region")[:80],
            tags=self._tags(),
            note=self._note(),
            model=model.name,
            built=model.year,
            serial=self._one("serial", read_serial),
            volume=self._volume(),
            sanitizer=self._one("sanitizer", lambda text: read_word(text, "sanitizers")),
            delivered=self._delivered(),
        )
        if len(row.cells) > max((column.place for column in self.head.columns), default=0) + 1:
            extra = row.cells[max(column.place for column in self.head.columns) + 1 :]
            if any(text_of(cell) for cell in extra):
                self.remarks.append(Remark(row.line, "", "row_wide"))
        return replace(owner, remarks=tuple(self.remarks))

    def _cells(self, means: Field) -> Iterator[tuple[Column, Cell]]:
        for column in self.head.columns:
            if column.means == means and column.place < len(self.row.cells):
                yield column, self.row.cells[column.place]

    def _text(self, means: Field) -> str:
        return next((text for _, cell in self._cells(means) if (text := text_of(cell))), "")

    def _remark(self, means: Field, code: str, **values: str | float) -> None:
        column = next((column for column in self.head.columns if column.means == means), None)
        self.remarks.append(
            Remark(self.row.line, (column.title or column.letter) if column else "", code, dict(values))
        )

    def _note_read(self, means: Field, read: Read) -> str:
        if read.code:
            self._remark(means, read.code, said=read.said[:80], value=read.value)
        return read.value

    def _one(self, means: Field, reads: Reads) -> str:
        if any(isinstance(cell, Formula) for _, cell in self._cells(means)):
            self._remark(means, "formula")
        return self._note_read(means, reads(self._text(means)))

    def _first(self, means: Field, reads: Reads) -> str:
        """The first column of several that says something."""
        return next(
            (value for _, cell in self._cells(means) if (value := self._note_read(means, reads(text_of(cell))))), ""
        )

    def _name(self) -> str:
        parts = [self._text("first_name"), self._text("last_name")]
        whole = self._text("name") or " ".join(part for part in parts if part)
        where = next((name for name in NAMES if self.head.places(name)), NAMES[0])
        if not self.head.places(where):
            return ""
        read = read_name(whole)
        if read.code == "name_is_number":
            return read.said
        return self._note_read(where, read)

    def _phones(self) -> tuple[str, ...]:
        found: list[str] = []
        for _, cell in self._cells("phone"):
            text = text_of(cell)
            if text and any(mark.isalpha() for mark in text) and not any(map(str.isdigit, text)):
                found.append("!" + text)
                continue
            value = self._note_read("phone", read_phone(text, self.choices.country))
            if value and value not in found:
                found.append(value)
        return tuple(found)

    def _swapped(self, name: str, phones: tuple[str, ...]) -> tuple[str, tuple[str, ...]]:
        """A name among the phone numbers and a number for a name change places; either alone is remarked."""
        words = next((text[1:] for text in phones if text.startswith("!")), "")
        kept = tuple(text for text in phones if not text.startswith("!"))
        number = read_phone(name, self.choices.country).value if read_name(name).code == "name_is_number" else ""
        if number and words and not read_name(words).code:
            self._remark("name" if self.head.places("name") else "phone", "swapped", name=words, phone=number)
            return words[:120], (number, *kept)
        if words and bare(words) not in meanings()["junk"]["names"]:
            self._remark("phone", "phone_unreadable", said=words[:80], value="")
        if read_name(name).code == "name_is_number":
            self._remark("name", "name_is_number", said=name[:80], value="")
            return "", (*kept, number) if number and number not in kept else kept
        return name, kept

    def _tags(self) -> tuple[str, ...]:
        texts = [text_of(cell) for _, cell in self._cells("tags")]
        parts = [part.strip()[:40] for text in texts for part in text.replace(";", ",").split(",")]
        return tuple(dict.fromkeys(part for part in parts if part))[:20]

    def _note(self) -> str:
        return "\n".join(
            str(cell) if isinstance(cell, str) else text_of(cell) for _, cell in self._cells("note") if cell
        )[:1000]

    def _volume(self) -> float | None:
        for column, cell in self._cells("volume"):
            found = read_volume(cell, unit_in(column.title), self.choices.unit, self.choices.country)
            if found.code:
                us, imperial = found.as_gallons
                self._remark(
                    "volume", found.code, said=found.said, litres=found.litres or 0.0, us=us, imperial=imperial
                )
            return found.litres
        return None

    def _delivered(self) -> date | None:
        kinds: tuple[Field, Field] = ("delivered", "bought")
        for means in kinds:
            for _, cell in self._cells(means):
                found = read_day(cell, self.choices.dates, self.today, self.table.zero)
                if found.code:
                    self._remark(means, found.code, said=found.said)
                if found.day:
                    return found.day
        return None


def _with_models(
    owners: list[OwnerRow], head: Head, choices: Choices, models: Sequence[str]
) -> tuple[list[OwnerRow], list[Question]]:
    """Every model under one spelling; those that are alike and not the same are asked about."""
    spelled = _spellings(owners, models)
    decided = {same_model(said): meant for said, meant in choices.models.items()}
    titles = [column.title or column.letter for column in head.columns if column.means == "model"]
    questions: dict[str, Question] = {}
    named: list[OwnerRow] = []
    for owner in owners:
        if not owner.model:
            named.append(owner)
            continue
        name, meant = spelled[same_model(owner.model)]
        if said := decided.get(same_model(owner.model)):
            name, meant = said, ""
        if meant:
            questions[name] = Question("model", titles[0], (name,), meant)
            remark = Remark(owner.line, titles[0], "model_alike", {"said": name, "model": meant})
            named.append(replace(owner, model=name, remarks=(*owner.remarks, remark)))
        else:
            named.append(replace(owner, model=name))
    return named, list(questions.values())


def _spellings(owners: list[OwnerRow], models: Sequence[str]) -> Mapping[str, tuple[str, str]]:
    """For each model, its usual spelling and the model that it may be another spelling of."""
    counted = Counter(owner.model for owner in owners if owner.model)
    usual: dict[str, str] = {same_model(name): name for name in reversed(models)}
    for name, _ in counted.most_common():
        usual.setdefault(same_model(name), name)
    known = {same_model(name) for name in models}
    often: Counter[str] = Counter()
    for name, count in counted.items():
        often[same_model(name)] += count
    groups: dict[str, list[str]] = {}
    for key in usual:
        groups.setdefault(alike_model(key), []).append(key)
    found: dict[str, tuple[str, str]] = {}
    for keys in groups.values():
        first = max(keys, key=lambda key: (key in known, often[key]))
        for key in keys:
            found[key] = (usual[key], "" if key == first or key in known else usual[first])
    return found

"""From a sheet's rows to changes of the books: new owners, changed ones, and rows that are there already."""

import hashlib
from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime
from typing import Any, Literal

from pydantic import JsonValue

from bot.desk.intake.register import Books, compatible
from bot.desk.intake.remark import Remark
from bot.desk.intake.sheet import OwnerRow, Sheet
from bot.desk.intake.texts import same_model
from bot.model.dealer import Dealer
from bot.model.fact import Entry, Told
from bot.model.person import Person
from bot.model.tub import Tub

UNLIKE = 0.1
"""How far from its model's volume a tub's may be before somebody should look."""
What = Literal["new", "changed", "same"]


@dataclass(frozen=True, slots=True)
class Change:
    """One row's change. `before` is what was read (None: nobody had that key); what is not changed is left out."""

    line: int
    what: What
    person: tuple[Person | None, Person]
    tub: tuple[Tub | None, Tub]

    @property
    def linked(self) -> bool:
        """Whether person and tub still have to be linked."""
        return self.person[0] is None or self.tub[0] is None


@dataclass
class Bringing:
    """What bringing a sheet in would do."""

    changes: list[Change] = field(default_factory=list)
    remarks: list[Remark] = field(default_factory=list)
    same: int = 0
    doubles: int = 0
    """Rows that are another row of the same sheet."""

    def count(self, what: What) -> int:
        """How many owners are new or changed."""
        return sum(change.what == what for change in self.changes)


def bring(sheet: Sheet, books: Books, dealer: Dealer, digest: str, units: str) -> Bringing:
    """Compare a sheet with the books, which are changed as it would change them.

    `digest` of the file: together with the line it makes the keys of new people, so that the same file brought in twice
    at once makes nobody twice.
    """
    return _Comparing(sheet, books, dealer, digest, units).bringing()


class _Comparing:
    def __init__(self, sheet: Sheet, books: Books, dealer: Dealer, digest: str, units: str) -> None:
        self.sheet, self.books, self.dealer, self.digest, self.units = sheet, books, dealer, digest, units
        self.made = Bringing(remarks=[*sheet.rejected])
        self.models = {same_model(model.name): model for model in dealer.models}
        self.lines: dict[tuple[str, str], int] = {}
        """On which line a person and tub stood first."""
        self.touched: set[str] = set()
        """People and tubs that an earlier row told of: of rows that contradict each other, the first is right."""

    def bringing(self) -> Bringing:
        for row in self.sheet.owners:
            self.made.remarks.extend(row.remarks)
            self._row(row)
        self.made.remarks.sort(key=lambda remark: remark.line)
        return self.made

    def _row(self, row: OwnerRow) -> None:
        person = self.books.who(row)
        tub = self.books.with_serial(row.serial)
        if tub and (person is None or person.key not in self.books.owners_of[tub.key]):
            self._remark(row, "serial_elsewhere", serial=row.serial, name=self._called(tub))
            return
        if person is None and (other := next(self.books.reached_by(row), None)):
            self._remark(row, "reached_by_another", name=other.name)
        if person is not None and row.number and person.number == row.number and not compatible(person.name, row.name):
            self._remark(row, "number_other_name", name=person.name, said=row.name)
        before = person or self.books.people.get(self._key("p", row))
        if before is not None and before.standing == "erased":
            self._remark(row, "erased")
            return
        self._put(row, before)

    def _put(self, row: OwnerRow, before: Person | None) -> None:
        person = self._person(row, before)
        old = self.books.tub_of(before, row) if before else None
        tub = self._tub(row, before, old)
        first = self.lines.get((person.key, tub.key))
        if first is not None:
            self.made.doubles += 1
            self._remark(row, "double", line=str(first))
        self.lines.setdefault((person.key, tub.key), row.line)
        self.touched |= {person.key, tub.key}
        what: What = "new" if before is None else "same" if (person, tub) == (before, old) else "changed"
        self.books.add(person, [tub])
        if what == "same":
            self.made.same += first is None
        else:
            self.made.changes.append(Change(row.line, what, (before, person), (old, tub)))

    def _person(self, row: OwnerRow, before: Person | None) -> Person:
        if before is None:
            fresh = Person(
                key=self._key("p", row),
                dealer=self.dealer.key,
                language=row.language or self.dealer.language,
                zone=self.dealer.zone,
                quiet=self.dealer.quiet,
                units="us" if self.units == "us" else "metric",
            )
            return fresh.model_copy(update=self._said_of_person(row, fresh))
        return before.model_copy(update=self._said_of_person(row, before))

    def _said_of_person(self, row: OwnerRow, before: Person) -> dict[str, Any]:
        """What a row changes. What an owner said in the chat themselves is theirs: a list does not change it."""
        again = before.key in self.touched
        said: dict[str, Any] = {
            "phones": tuple(dict.fromkeys((*before.phones, *row.phones) if again else (*row.phones, *before.phones))),
            "tags": tuple(dict.fromkeys((*before.tags, *row.tags))),
        }
        for name in ("email", "number", "region", "note"):
            old, new = getattr(before, name), getattr(row, name)
            said[name] = (old or new) if again else (new or old)
        if row.name and (not before.name or (before.address is None and not again)):
            said["name"] = row.name
        if row.language and before.address is None and not again:
            said["language"] = row.language
        return said

    def _tub(self, row: OwnerRow, owner: Person | None, before: Tub | None) -> Tub:
        said: dict[str, Any] = {
            "model": row.model or None,
            "built": row.built,
            "serial": row.serial or None,
            "volume": row.volume,
            "sanitizer": row.sanitizer or None,
            "delivered": row.delivered,
        }
        fresh = before or Tub(key=self._key("t", row), dealer=self.dealer.key)
        joined = owner is not None and owner.address is not None
        changed: dict[str, Any] = {}
        for name, value in said.items():
            old = getattr(fresh, name)
            if value is None or value == old:
                continue
            if old is not None and fresh.key in self.touched:
                self._remark(row, "double_differs", old=str(old), said=str(value))
            elif joined and old is not None:
                self._remark(row, "kept_owner_s", old=str(old), said=str(value))
            else:
                changed[name] = value
        told = fresh.model_copy(update=changed) if changed else fresh
        return self._as_its_model(row, told)

    def _as_its_model(self, row: OwnerRow, tub: Tub) -> Tub:
        """The tub with what the dealer says of its model, where nobody said it of this tub."""
        model = self.models.get(same_model(tub.model)) if tub.model else None
        if model is None:
            return tub
        fields = model.fields()
        volume = fields.get("volume")
        if isinstance(volume, float) and row.volume and abs(row.volume - volume) > UNLIKE * volume:
            self._remark(row, "volume_of_model", said=row.volume, model=model.name, litres=volume)
        missing = {name: value for name, value in fields.items() if getattr(tub, name) is None}
        return tub.model_copy(update=missing) if missing else tub

    def _key(self, kind: str, row: OwnerRow) -> str:
        told = f"{self.dealer.key}|{self.digest}|{row.line}"
        return kind + hashlib.sha256(told.encode()).hexdigest()[:16]

    def _called(self, tub: Tub) -> str:
        return ", ".join(person.name for person in self.books.owners(tub) if person.name)

    def _remark(self, row: OwnerRow, code: str, **values: str | float) -> None:
        self.made.remarks.append(Remark(row.line, "", code, dict(values)))


def audit(changes: Sequence[Change], dealer: str, digest: str, by: str | None, via: str, now: datetime) -> list[Entry]:
    """For each tub that a sheet changes, what the sheet said of it, and who brought it in."""
    found = []
    for change in changes:
        before, after = change.tub
        if before is None:
            continue
        values = _changed(before, after)
        if values:
            key = f"{digest[:16]}:{change.line}:{now.timestamp():.0f}"
            told = Told(about="tub", values=values)
            found.append(Entry(key=key, dealer=dealer, tub=after.key, person=by, at=now, via=via, fact=told))
    return found


def _changed(before: Tub, after: Tub) -> dict[str, JsonValue]:
    old, new = before.model_dump(mode="json"), after.model_dump(mode="json")
    return {name: value for name, value in new.items() if old[name] != value}

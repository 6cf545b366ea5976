"""Who is in the books, found by what a sheet says of them."""

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass, field
from difflib import SequenceMatcher

from bot.desk.intake.columns import bare, meanings
from bot.desk.intake.sheet import OwnerRow
from bot.desk.intake.texts import same_model
from bot.model.person import Person
from bot.model.tub import Tub

ALIKE = 0.8
"""How alike two words with the same first letter must be for one to be a slip of the other."""


@dataclass
class Books:
    """Owners with their tubs, and ways to find them. Grows while a sheet is brought in."""

    people: dict[str, Person] = field(default_factory=dict)
    tubs: dict[str, Tub] = field(default_factory=dict)
    tubs_of: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    owners_of: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    _by: dict[tuple[str, str], list[str]] = field(default_factory=lambda: defaultdict(list))

    def add(self, person: Person, tubs: Iterable[Tub] = ()) -> None:
        """Enter somebody, or enter again what has changed of them."""
        self.people[person.key] = person
        for key in keys_of(person):
            if person.key not in self._by[key]:
                self._by[key].append(person.key)
        for tub in tubs:
            self.tubs[tub.key] = tub
            if tub.serial and tub.key not in self._by["serial", tub.serial]:
                self._by["serial", tub.serial].append(tub.key)
            if tub.key not in self.tubs_of[person.key]:
                self.tubs_of[person.key].append(tub.key)
                self.owners_of[tub.key].append(person.key)

    def models(self) -> list[str]:
        """The models of all tubs, the most frequent first."""
        counted: dict[str, int] = defaultdict(int)
        for tub in self.tubs.values():
            if tub.model:
                counted[tub.model] += 1
        return sorted(counted, key=lambda name: (-counted[name], name))

    def with_serial(self, serial: str) -> Tub | None:
        """The tub with that serial number."""
        found = self._by.get(("serial", serial)) if serial else None
        return self.tubs[found[0]] if found else None

    def who(self, row: OwnerRow) -> Person | None:
        """Who a row is: by customer number, serial number, phone or e-mail; by name and model where it says no more.

        The same phone under another name is somebody else.
        """
        if row.number and (found := self._by.get(("number", row.number))):
            return self.people[found[0]]
        if tub := self.with_serial(row.serial):
            owner = next((one for one in self._owners(tub) if same_person(one, row)), None)
            if owner:
                return owner
        for person in self.reached_by(row):
            if compatible(person.name, row.name):
                return person
        if row.phones or row.email or row.number or row.serial:
            return None
        for key in self._by.get(("name", bare(row.name)), ()):
            person = self.people[key]
            if any(_same_tub(self.tubs[tub], row) for tub in self.tubs_of[key]):
                return person
        return None

    def reached_by(self, row: OwnerRow) -> Iterator[Person]:
        """Everybody who has one of a row's phone numbers or its e-mail address."""
        keys = [("phone", phone) for phone in row.phones] + ([("email", row.email)] if row.email else [])
        for key in keys:
            yield from (self.people[name] for name in self._by.get(key, ()))

    def tub_of(self, person: Person, row: OwnerRow) -> Tub | None:
        """Which tub of a person's a row means; None: another one that is not in the books yet."""
        own = [self.tubs[key] for key in self.tubs_of[person.key]]
        if row.serial:
            exact = next((tub for tub in own if tub.serial == row.serial), None)
            return exact or next((tub for tub in own if not tub.serial and _fits_model(tub, row)), None)
        same = [tub for tub in own if _fits_model(tub, row)]
        return next(
            (tub for tub in same if row.delivered and tub.delivered == row.delivered), same[0] if same else None
        )

    def _owners(self, tub: Tub) -> Iterator[Person]:
        return (self.people[key] for key in self.owners_of[tub.key])

    def owners(self, tub: Tub) -> list[Person]:
        """Everybody on a tub."""
        return list(self._owners(tub))


def keys_of(person: Person) -> Iterator[tuple[str, str]]:
    """By what a person is found."""
    for phone in person.phones:
        yield "phone", phone
    if person.email:
        yield "email", person.email
    if person.number:
        yield "number", person.number
    if name := bare(person.name):
        yield "name", name


def same_person(person: Person, row: OwnerRow) -> bool:
    """Whether a row tells of that person: a name that fits, and where one of them has none, a number or an address in
    common.
    """
    if person.name and row.name:
        return compatible(person.name, row.name)
    return bool(set(person.phones) & set(row.phones)) or bool(row.email and person.email == row.email)


def compatible(name: str, other: str) -> bool:
    """Whether two names may be one person's: parts left out, initials, another order, a slip of the pen."""
    one, two = _parts(name), _parts(other)
    if not one or not two:
        return True
    few, many = sorted((one, two), key=len)
    return all(any(_same_word(part, word) for word in many) for part in few)


def _same_word(one: str, other: str) -> bool:
    if 1 in (len(one), len(other)) or one == other:
        return one[0] == other[0]
    return one[0] == other[0] and SequenceMatcher(None, one, other).ratio() >= ALIKE


def _parts(name: str) -> list[str]:
    courtesies = meanings()["junk"]["courtesies"]
    words = bare(name).split()
    return [word for word in words if word not in courtesies or len(word) == 1] if len(words) > 1 else words


def _same_tub(tub: Tub, row: OwnerRow) -> bool:
    return _fits_model(tub, row) and (not row.delivered or not tub.delivered or tub.delivered == row.delivered)


def _fits_model(tub: Tub, row: OwnerRow) -> bool:
    return not tub.model or not row.model or same_model(tub.model) == same_model(row.model)

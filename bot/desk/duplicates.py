"""Owners and tubs that are in the books twice: found by what they have in common, made one without losing anything."""

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import combinations
from typing import Literal, NamedTuple

from bot.model.person import Person
from bot.model.tub import Tub

Why = Literal["phone", "email", "number", "serial"]
MOST_ALIKE = 5
"""What more people than that have in common (a shop's own number, say) tells nothing of them (common practice)."""


class Entry(NamedTuple):
    """An owner in the books and their tubs."""

    person: Person
    tubs: tuple[Tub, ...]


@dataclass(frozen=True, slots=True)
class Pair:
    """Two who may be one: `keep` would stay. The same person twice: only the tubs may be one."""

    keep: Entry
    drop: Entry
    why: Why

    @property
    def name(self) -> str:
        """By what the pair is known again."""
        return "+".join(sorted((self.keep.person.key, self.drop.person.key)))

    @property
    def both_joined(self) -> bool:
        """Whether each has a chat of their own: then nobody can say for them that they are one."""
        people = {one.person.key for one in (self.keep, self.drop) if one.person.address is not None}
        return len(people) > 1

    @property
    def tubs(self) -> tuple[Tub, Tub] | None:
        """The two tubs that may be one; None where nothing says which."""
        mine, theirs = self.keep.tubs, self.drop.tubs
        if self.keep.person.key == self.drop.person.key:
            return (mine[0], theirs[0])
        pairs = [(one, other) for one in mine for other in theirs if one.key != other.key and _may_be_one(one, other)]
        alike = [pair for pair in pairs if pair[0].serial and pair[0].serial == pair[1].serial] or pairs
        return alike[0] if len(alike) == 1 else None


def duplicates(books: Iterable[Entry], not_the_same: Iterable[str] = ()) -> list[Pair]:
    """Every two owners with a phone number, an address, a customer number or a serial number in common, but for those
    on one tub and those who were said not to be the same; and an owner with two tubs of one serial number.
    """
    known = set(not_the_same)
    found: dict[str, Pair] = {}
    by: defaultdict[tuple[Why, str], list[Entry]] = defaultdict(list)
    for one in books:
        for mark in _marks(one):
            by[mark].append(one)
        if twice := _twice(one):
            found[one.person.key] = twice
    for (why, _), alike in sorted(by.items()):
        if len(alike) <= MOST_ALIKE:
            for first, second in combinations(alike, 2):
                pair = _pair(first, second, why)
                if pair.name not in known and not _share_a_tub(first, second):
                    found.setdefault(pair.name, pair)
    return [found[name] for name in sorted(found)]


def _marks(one: Entry) -> set[tuple[Why, str]]:
    person = one.person
    marks: set[tuple[Why, str]] = {("phone", phone) for phone in person.phones}
    marks |= {("email", person.email.casefold())} if person.email else set()
    marks |= {("number", person.number)} if person.number else set()
    return marks | {("serial", tub.serial) for tub in one.tubs if tub.serial}


def _twice(one: Entry) -> Pair | None:
    """An owner who has a tub twice."""
    for first, second in combinations(one.tubs, 2):
        if first.serial and first.serial == second.serial:
            older, newer = second, first
            return Pair(Entry(one.person, (older,)), Entry(one.person, (newer,)), "serial")
    return None


def _share_a_tub(first: Entry, second: Entry) -> bool:
    return bool({tub.key for tub in first.tubs} & {tub.key for tub in second.tubs})


def _pair(first: Entry, second: Entry, why: Why) -> Pair:
    """Whoever has joined stays, else who is in the books under the first key."""
    ranked = sorted((first, second), key=lambda one: (one.person.address is None, one.person.key))
    return Pair(ranked[0], ranked[1], why)


def _may_be_one(one: Tub, other: Tub) -> bool:
    """Whether nothing that is known of both differs."""
    fields = ("model", "serial", "volume", "sanitizer")
    return all(getattr(one, name) in (None, getattr(other, name)) or getattr(other, name) is None for name in fields)


def one_person(keep: Person, drop: Person) -> Person:
    """Both as one: what `keep` does not say, `drop` does; numbers and tags of both."""
    blank = {name: getattr(drop, name) for name in ("name", "email", "number", "region") if not getattr(keep, name)}
    joined = {} if keep.address or not drop.address else _chat_of(drop)
    notes = "\n".join(dict.fromkeys(note for note in (keep.note, drop.note) if note))
    lists = {name: tuple(dict.fromkeys((*getattr(keep, name), *getattr(drop, name)))) for name in ("phones", "tags")}
    return Person.model_validate({**keep.model_dump(), **blank, **joined, **lists, "note": notes})


def _chat_of(person: Person) -> dict[str, object]:
    """What belongs to somebody's chat."""
    names = (
        "address",
        "language",
        "units",
        "zone",
        "quiet",
        "standing",
        "paused_until",
        "agreed_at",
        "always_reminded",
    )
    return {name: getattr(person, name) for name in names}


def one_tub(keep: Tub, drop: Tub) -> Tub:
    """Both as one: what `keep` does not say, `drop` does."""
    blank = {name: value for name, value in drop if getattr(keep, name) in (None, "") and value not in (None, "")}
    return keep.model_copy(update=blank)


def side_by_side(pair: Pair) -> Sequence[tuple[str, str, str]]:
    """What is known of each, by field, where there is anything."""

    def said(one: Entry) -> dict[str, str]:
        person = one.person
        return {
            "name": person.name,
            "phone": ", ".join(person.phones),
            "email": person.email,
            "number": person.number,
            "model": ", ".join(tub.model or "?" for tub in one.tubs),
            "serial": ", ".join(tub.serial for tub in one.tubs if tub.serial),
        }

    left, right = said(pair.keep), said(pair.drop)
    return [(name, left[name], right[name]) for name in left if left[name] or right[name]]

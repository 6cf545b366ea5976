"""Who is in the books twice: found by what they have in common, never guessed; made one, neither loses anything."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.desk.duplicates import Entry, duplicates, one_person, one_tub, side_by_side
from bot.model.person import Address, Person
from bot.model.tub import Tub

CHAT = Address(channel="telegram", chat="7")


def owner(key: str, *tubs: Tub, **fields: object) -> Entry:
    return Entry(Person(key=key, dealer="d", **fields), tubs)  # type: ignore[arg-type]


def tub(key: str, **fields: object) -> Tub:
    return Tub(key=key, dealer="d", **fields)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("one", "other", "why"),
    [
        (owner("a", phones=("+1", "+2")), owner("b", phones=("+2",)), "phone"),
        (owner("a", email="Ada@example.org"), owner("b", email="ada@example.org"), "email"),
        (owner("a", number="17"), owner("b", number="17"), "number"),
        (owner("a", tub("t", serial="S")), owner("b", tub("u", serial="S")), "serial"),
    ],
)
def test_two_with_something_in_common_are_a_pair(one: Entry, other: Entry, why: str) -> None:
    [pair] = duplicates([one, other])
    assert (pair.keep, pair.drop, pair.why, pair.name) == (one, other, why, "a+b")
    assert duplicates([one, other], ["a+b"]) == []


def test_people_of_one_tub_and_those_with_nothing_in_common_are_none() -> None:
    shared = tub("t", serial="S")
    assert duplicates([owner("a", shared, phones=("+1",)), owner("b", shared, phones=("+1",))]) == []
    assert duplicates([owner("a", name="Ada"), owner("b", name="Ada"), owner("c")]) == []


def test_a_number_that_many_have_tells_nothing() -> None:
    assert duplicates([owner(f"p{n}", phones=("+1",)) for n in range(6)]) == []
    assert len(duplicates([owner(f"p{n}", phones=("+1",)) for n in range(3)])) == 3


def test_an_owner_with_one_serial_number_twice_has_a_tub_twice() -> None:
    [pair] = duplicates([owner("a", tub("new", serial="S"), tub("old", serial="S"), tub("other"))])
    assert pair.tubs
    assert [one.key for one in pair.tubs] == ["old", "new"]
    assert not pair.both_joined


def test_who_has_joined_stays_and_two_who_have_both_joined_are_marked() -> None:
    first, second = owner("a", phones=("+1",)), owner("b", phones=("+1",), address=CHAT)
    [pair] = duplicates([first, second])
    assert pair.keep == second
    assert not pair.both_joined
    other = Address(channel="telegram", chat="8")
    [both] = duplicates([second, owner("a", phones=("+1",), address=other)])
    assert both.both_joined


def test_which_tubs_may_be_one_is_said_only_where_nothing_contradicts() -> None:
    def tubs(mine: list[Tub], theirs: list[Tub]) -> list[str]:
        [pair] = duplicates([owner("a", *mine, number="1"), owner("b", *theirs, number="1")])
        return [one.key for one in pair.tubs or ()]

    assert tubs([tub("t", model="A5")], [tub("u", model="A5", serial="S")]) == ["t", "u"]
    assert tubs([tub("t", model="A5")], [tub("u", model="B7")]) == []
    assert tubs([tub("t", serial="1")], [tub("u", serial="2")]) == []
    assert tubs([tub("t"), tub("v")], [tub("u")]) == []
    assert tubs([tub("t", serial="S"), tub("v")], [tub("u", serial="S")]) == ["t", "u"]


WORD = st.text("abc", max_size=3)
PEOPLE = st.builds(
    Person,
    key=st.just("k"),
    dealer=st.just("d"),
    name=WORD,
    email=WORD,
    number=WORD,
    note=WORD,
    phones=st.lists(st.sampled_from(["+1", "+2", "+3"]), unique=True).map(tuple),
    tags=st.lists(WORD, unique=True, max_size=2).map(tuple),
    address=st.none() | st.just(CHAT),
)


@given(PEOPLE, PEOPLE)
def test_nothing_of_either_is_lost(keep: Person, drop: Person) -> None:
    both = one_person(keep, drop)
    assert set(both.phones) == set(keep.phones) | set(drop.phones)
    assert set(both.tags) == set(keep.tags) | set(drop.tags)
    assert both.phones[: len(keep.phones)] == keep.phones
    for name in ("name", "email", "number", "address"):
        assert getattr(both, name) == (getattr(keep, name) or getattr(drop, name))
    assert keep.note in both.note
    assert drop.note in both.note


def test_a_tub_keeps_what_it_says_and_takes_what_it_does_not() -> None:
    both = one_tub(tub("t", model="A5", volume=1300), tub("u", serial="S", volume=900, cartridge=False))
    assert (both.key, both.model, both.volume, both.serial, both.cartridge) == ("t", "A5", 1300, "S", False)


def test_both_are_shown_side_by_side() -> None:
    [pair] = duplicates([owner("a", name="Ada", number="1"), owner("b", tub("u", model="A5"), number="1")])
    assert side_by_side(pair) == [("name", "Ada", ""), ("number", "1", "1"), ("model", "", "A5")]

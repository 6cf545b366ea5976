from datetime import UTC, date, datetime, timedelta
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.desk.rounds.whom import chosen, read_whom, write_whom
from bot.model.dealer import Dealer
from bot.model.fact import CartridgeChanged, Corrected, Entry, Fact, Filled, ReadingTaken, Refilled, ReminderAnswered
from bot.model.person import Person
from bot.model.round import Candidate, Whom
from bot.model.tub import Tub
from dosing import Said

NOW = datetime(2027, 3, 1, 9, tzinfo=UTC)
HOUSE = Dealer(key="house", name="Tidewell Tubs")


def somebody(*journal: Entry, person: dict[str, Any] | None = None, **tub: Any) -> Candidate:
    fields = {"key": "t", "dealer": "house", "volume": 1300.0, "sanitizer": "chlorine", "cartridge": True, **tub}
    return Candidate(Person(key="p", dealer="house", **(person or {})), Tub.model_validate(fields), journal)


def entry(fact: Fact, days_ago: float, key: str = "e") -> Entry:
    at = NOW - timedelta(days=days_ago)
    return Entry(key=f"{key}{days_ago}", dealer="house", tub="t", person="p", at=at, via="x", fact=fact)


def is_meant(line: str, candidate: Candidate) -> bool:
    return chosen(read_whom(line), candidate, HOUSE, NOW) is not None


@pytest.mark.parametrize(
    ("line", "candidate", "meant"),
    [
        ("all", somebody(), True),
        ("chlorine", somebody(), True),
        ("bromine", somebody(), False),
        ("model=cedar 5", somebody(model=" Cedar  5 "), True),
        ("model=Cedar 5|Birch", somebody(model="birch"), True),
        ("model=Cedar 5", somebody(), False),
        ("delivered=2026-01-01..2026-06-30", somebody(delivered=date(2026, 6, 30)), True),
        ("delivered=2026-01-01..2026-06-30", somebody(delivered=date(2026, 7, 1)), False),
        ("delivered=2026-01-01..", somebody(), False),
        ("lang=de|fr", somebody(person={"language": "fr"}), True),
        ("lang=de", somebody(), False),
        ("region=DE", somebody(person={"zone": "Europe/Berlin"}), True),
        ("region=Europe", somebody(person={"zone": "Europe/Lisbon"}), True),
        ("region=north coast", somebody(person={"region": "North  Coast"}), True),
        ("region=America", somebody(person={"zone": "Europe/Lisbon"}), False),
        ("tag=VIP", somebody(person={"tags": ("vip", "north")}), True),
        ("tag=vip", somebody(), False),
        ("ids=t|x", somebody(), True),
        ("ids=h24-7", somebody(serial="H24-7"), True),
        ("ids=other", somebody(), False),
        ("serial=H24-100..H24-499", somebody(serial="h24-100"), True),
        ("serial=H24-100..H24-499", somebody(serial="H24-500"), False),
        ("serial=H24-100..H24-499", somebody(serial="H25-200"), False),
        ("serial=H24-100..H24-499", somebody(), False),
        ("serial_unknown", somebody(), True),
        ("serial_unknown", somebody(serial="H24-1"), False),
        ("chlorine, lang=en, tag=a", somebody(person={"tags": ("a",)}), True),
        ("chlorine, lang=de, tag=a", somebody(person={"tags": ("a",)}), False),
    ],
)
def test_all_criteria_that_are_given_must_hold(line: str, candidate: Candidate, meant: bool):
    assert is_meant(line, candidate) is meant


def test_a_cartridge_that_falls_due_within_the_days_is_meant_and_its_date_known():
    tub = somebody(entry(Filled(), 115), entry(CartridgeChanged(), 110))
    found = chosen(read_whom("cartridge=14"), tub, HOUSE, NOW)
    assert found is not None
    assert found.due == (NOW + timedelta(days=10)).date()
    assert not is_meant("cartridge=9", tub)


def test_a_tub_without_a_cartridge_or_water_has_none_that_falls_due():
    assert not is_meant("cartridge=700", somebody(entry(Filled(), 115), cartridge=False))
    assert not is_meant("cartridge=700", somebody())


def test_one_that_was_changed_is_not_due_even_where_only_a_reminder_was_answered():
    assert not is_meant(
        "cartridge=14",
        somebody(
            entry(Filled(), 200),
            entry(CartridgeChanged(), 150),
            entry(ReminderAnswered(what="cartridge", answer="done"), 3),
        ),
    )


def test_a_change_of_water_that_was_taken_back_does_not_count():
    journal = (entry(Filled(), 88), entry(Refilled(), 10, "r"), entry(Corrected(of="r10"), 9))
    assert is_meant("refill=7", somebody(*journal))
    assert not is_meant("refill=7", somebody(*journal[:2]))


def test_who_never_tested_is_not_tested_for_any_number_of_days():
    assert is_meant("untested=14", somebody())
    assert is_meant("untested=14", somebody(entry(ReadingTaken(values={}), 15)))
    assert not is_meant("untested=14", somebody(entry(ReadingTaken(values={}), 13)))


@pytest.mark.parametrize(
    ("values", "out"),
    [({"ph": 7.4, "fc": 3}, False), ({"ph": 8.4}, True), ({"fc": 0.5}, True), ({"ta": 240}, True), ({"br": 0}, False)],
)
def test_out_of_range_goes_by_the_newest_test_and_the_tubs_own_sanitizer(values: dict[str, float], out: bool):
    said = {key: Said.value(value) for key, value in values.items()}
    test = entry(ReadingTaken(values=said, method="strip"), 2)
    assert is_meant("out_of_range", somebody(test)) is out


def test_somebody_without_a_tub_is_meant_only_where_nothing_is_asked_of_the_tub():
    nobody = Candidate(Person(key="p", dealer="house"), None)
    assert is_meant("all", nobody)
    assert is_meant("lang=en", nobody)
    assert not is_meant("chlorine", nobody)
    assert not is_meant("untested=3", nobody)


days = st.none() | st.integers(1, 365)
words = st.lists(st.text("abcXYZ -5", min_size=1).map(str.strip).filter(bool), max_size=3).map(tuple)
whoms = st.builds(
    Whom,
    sanitizer=st.sampled_from([None, "chlorine", "bromine"]),
    models=words,
    delivered_from=st.none() | st.dates(date(2020, 1, 1), date(2024, 1, 1)),
    delivered_to=st.none() | st.dates(date(2024, 1, 2), date(2027, 1, 1)),
    cartridge_within=days,
    refill_within=days,
    untested=days,
    out_of_range=st.booleans(),
    languages=st.sampled_from([(), ("de",), ("de", "fr")]),
    regions=st.sampled_from([(), ("DE",), ("America", "Europe/Berlin")]),
    tags=words,
    serials=words,
    serial_unknown=st.booleans(),
    people=words,
)


@given(whoms)
def test_criteria_come_back_from_the_line_they_are_written_in(whom: Whom):
    assert read_whom(write_whom(whom)) == whom


@pytest.mark.parametrize(
    ("line", "why"),
    [
        ("", "Say whom it is for"),
        ("blue", "“blue” is no criterion"),
        ("cartridge=soon", "no number of days"),
        ("untested=0", "untested=0"),
        ("delivered=2026", "no span of days"),
        ("delivered=2026-02-01..2026-01-01", "ends before it begins"),
        ("chlorine, bromine", "said before"),
        ("model=", "no criterion"),
        ("sanitizer=salt", "sanitizer is chlorine or bromine"),
    ],
)
def test_a_line_that_says_nothing_we_know_is_refused_in_a_sentence(line: str, why: str):
    with pytest.raises(ValueError, match=why):
        read_whom(line)


@given(st.text(max_size=60))
def test_any_line_is_read_or_refused_with_a_sentence(line: str):
    try:
        read = read_whom(line)
    except ValueError as wrong:
        read = str(wrong)
    assert read

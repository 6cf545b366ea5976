"""Who needs somebody: every matter has its day, and whoever is well, away or gone is not on the list."""

from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.desk.attention import MATTERS, counts, in_order, matters_of, needing
from bot.desk.leaving import csv_of
from bot.model.fact import CartridgeChanged, CaseOpened, CaseSaid, Fact, Filled, ReadingTaken, StartedUp
from bot.model.known import Case
from bot.model.person import Person
from bot.model.sight import Sight
from bot.model.tub import Tub
from bot.run.roll import needing_csv
from bot.talk.words import Words
from dosing import Said
from tests.store.samples import ADA, CEDAR, NOON, NORTH, entry

TUB = Tub(key="cedar", dealer="north", volume=1300, sanitizer="chlorine", cartridge=True, model="Model A5")


def read(**values: float) -> ReadingTaken:
    return ReadingTaken(values={key: Said.value(value) for key, value in values.items()})


def sight(*past: tuple[float, Fact], person: Person = ADA, tub: Tub | None = TUB, **more: object) -> Sight:
    """What is seen of a tub with these facts so many days ago; somebody of it was heard when the newest was told."""
    journal = tuple(
        entry(f"e{number}", fact, at=NOON - timedelta(days=days)) for number, (days, fact) in enumerate(past)
    )
    heard = max((one.at for one in journal), default=None)
    return Sight(**{"person": person, "tub": tub, "journal": journal, "heard": heard, **more})  # type: ignore[arg-type]


def running(*past: tuple[float, Fact], **more: object) -> Sight:
    return sight((40, Filled()), (39, StartedUp()), *past, **more)  # type: ignore[arg-type]


def case(klass: str, *said: CaseSaid) -> Case:
    opened = entry("c", CaseOpened.model_validate({"case": "c1", "klass": klass, "reasons": ()}))
    after = tuple(entry(f"s{n}", fact, at=NOON + timedelta(hours=n + 1)) for n, fact in enumerate(said))
    return Case(entry=opened, owner=None, tub=TUB, journal=(opened, *after))


GOOD = (2, read(fc=3, ph=7.4, ta=80))


@pytest.mark.parametrize(
    ("seen", "matters"),
    [
        (running(GOOD), []),
        (running((2, read(fc=0, ph=7.4))), ["out_of_range"]),
        (running((2, read(fc=3, ph=8.4))), ["out_of_range"]),
        (running((41, read(fc=0)), (2, CartridgeChanged())), []),
        (running((13, read(fc=3))), []),
        (running((14, read(fc=3))), ["silent"]),
        (running(GOOD, unanswered=2), []),
        (running(GOOD, unanswered=3), ["silent"]),
        (sight((96, Filled()), (95, StartedUp()), GOOD), []),
        (sight((97, Filled()), (96, StartedUp()), GOOD), ["refill"]),
        (sight((3, Filled())), ["unfinished"]),
        (sight((2, Filled())), []),
        (sight((3, Filled()), (2, StartedUp())), []),
        (sight((300, CartridgeChanged()), (40, Filled()), GOOD), ["cartridge"]),
        (sight((300, CartridgeChanged()), (40, Filled()), GOOD, tub=CEDAR), []),
        (sight(person=ADA.model_copy(update={"agreed_at": NOON - timedelta(days=4)})), ["unfinished"]),
        (sight(person=Person(key="flo", dealer="north")), ["not_joined"]),
        (running(GOOD, cases=(case("danger"),)), ["danger"]),
        (running(GOOD, cases=(case("question"),)), ["waiting"]),
        (running(GOOD, cases=(case("question", CaseSaid(case="c1", side="staff", text="yes")),)), []),
    ],
)
def test_a_matter_is_seen_from_its_day_on(seen: Sight, matters: list[str]) -> None:
    assert list(matters_of(seen, NORTH, NOON)) == matters


def test_whoever_is_away_is_not_silent_and_whoever_stopped_is_seen_for_open_cases_alone() -> None:
    away = ADA.model_copy(update={"paused_until": NOON + timedelta(days=5)})
    assert matters_of(running((30, read(fc=3)), person=away), NORTH, NOON) == {}
    stopped = ADA.model_copy(update={"standing": "stopped"})
    late = running((30, read(fc=0)), person=stopped, cases=(case("danger"),))
    assert list(matters_of(late, NORTH, NOON)) == ["danger"]
    blocked = ADA.model_copy(update={"standing": "blocked"})
    assert list(matters_of(running((30, read(fc=3)), person=blocked), NORTH, NOON)) == ["unreached", "silent"]


def test_the_dealers_own_days_count() -> None:
    patient = NORTH.model_copy(update={"attention": NORTH.attention.model_copy(update={"silent": 30})})
    assert matters_of(running((20, read(fc=3))), patient, NOON) == {}


@given(st.lists(st.tuples(st.integers(0, 60), st.booleans(), st.booleans()), max_size=12))
def test_the_gravest_come_first_and_every_matter_is_counted(rows: list[tuple[int, bool, bool]]) -> None:
    seen = [
        running(
            (days, read(fc=0 if out else 3)),
            person=ADA.model_copy(update={"key": f"p{number}"}),
            cases=(case("danger"),) if danger else (),
        )
        for number, (days, out, danger) in enumerate(rows)
    ]
    found = in_order(needing(seen, NORTH, NOON), NOON)
    places = [MATTERS.index(one.gravest) for one in found]
    assert places == sorted(places)
    assert sum(counts(found).values()) == sum(len(one.matters) for one in found)
    assert {one.sight.person.key for one in found} <= {one.person.key for one in seen}


def test_the_list_has_a_row_for_each_matter_and_nothing_that_a_spreadsheet_calculates() -> None:
    eve = ADA.model_copy(update={"name": "=HYPERLINK(1)", "phones": ("+491713920012",)})
    table = needing_csv(needing([running((20, read(fc=0)), person=eve)], NORTH, NOON), Words("en")).decode()
    assert table.count("'=HYPERLINK(1)") == 2
    assert "+49 171 3920012" in table
    assert "silent,2027-02-09" in table
    assert needing_csv([], Words("en")).startswith(csv_of(("name",), ())[:7])

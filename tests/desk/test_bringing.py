"""A sheet compared with the books: who is new, who is there already, who is twice in it, and what is not changed."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.desk.intake.bringing import Bringing, bring
from bot.desk.intake.register import Books, compatible
from bot.model.dealer import Dealer, TubModel
from bot.model.person import Address, Person
from bot.model.tub import Tub
from tests.desk.sheets import sheet_of

DEALER = Dealer(key="house", name="Tidewell Tubs", zone="Europe/Berlin", language="de")
HEAD = "name,phone,email,serial,model,vol\n"


def brought(text: str, books: Books | None = None, *, digest: str = "d1", **choices: object) -> Bringing:
    return bring(sheet_of(text, **choices), books if books is not None else Books(), DEALER, digest, "metric")


def books_with(person: Person, *tubs: Tub) -> Books:
    books = Books()
    books.add(person, tubs)
    return books


def remarks(made: Bringing) -> list[tuple[int, str]]:
    return [(remark.line, remark.code) for remark in made.remarks]


ANNA = Person(key="p-anna", dealer="house", name="Anna Muster", phones=("+491713920012",), email="anna@example.com")
HERS = Tub(key="t-anna", dealer="house", model="Model A5", serial="S-1", volume=1300.0)
JOINED = ANNA.model_copy(update={"address": Address(channel="telegram", chat="1")})


def test_a_new_owner_has_the_dealer_s_language_zone_and_hours_and_a_tub_of_their_own():
    made = brought(HEAD + "Anna Muster,0171 3920012,Anna@Example.com,S-1,Model A5,1300\n")
    [change] = made.changes
    person, tub = change.person[1], change.tub[1]
    assert (change.what, change.person[0], change.tub[0]) == ("new", None, None)
    assert (person.language, person.zone, person.quiet) == ("de", "Europe/Berlin", DEALER.quiet)
    assert (person.phones, person.email) == (("+491713920012",), "anna@example.com")
    assert (tub.serial, tub.model, tub.volume) == ("S-1", "Model A5", 1300.0)


ROWS = st.lists(
    st.tuples(
        st.sampled_from(["Anna Muster", "Jan Probe", "", "n/a", "Total"]),
        st.sampled_from(["0171 3920012", "0171 3920013", "", "12"]),
        st.sampled_from(["anna@example.com", "jan@example.com", ""]),
        st.sampled_from(["S-1", "S-2", ""]),
        st.sampled_from(["Model A5", "model  a5", "Mod. A-5", "A6", ""]),
        st.sampled_from(["1300", "1500", "400", ""]),
    ),
    max_size=8,
)


@settings(deadline=None, max_examples=60)
@given(ROWS)
def test_bringing_any_sheet_in_again_changes_nothing(rows: list[tuple[str, ...]]):
    text = HEAD + "".join(",".join(row) + "\n" for row in rows)
    books = Books()
    first = brought(text, books)
    people, tubs = dict(books.people), dict(books.tubs)
    again = brought(text, books, digest="another copy of the file")
    assert again.count("new") == 0
    assert set(books.people) == set(people)
    assert set(books.tubs) == set(tubs)
    lines = {change.line for change in first.changes} | {remark.line for remark in first.remarks}
    assert lines <= set(range(2, len(rows) + 2))


@settings(deadline=None, max_examples=60)
@given(ROWS)
def test_every_row_is_counted_once(rows: list[tuple[str, ...]]):
    text = HEAD + "".join(",".join(row) + "\n" for row in rows)
    sheet = sheet_of(text)
    made = bring(sheet, Books(), DEALER, "d", "metric")
    rejected = {remark.line for remark in made.remarks if remark.weight == "reject"}
    handled = made.count("new") + made.count("changed") + made.same + made.doubles
    assert handled >= len(sheet.owners) - len(rejected & {row.line for row in sheet.owners})
    assert len(sheet.owners) + len(sheet.rejected) + len(sheet.skipped) == len(rows)


@pytest.mark.parametrize(
    "row",
    [
        "Anna Muster,+49 171 3920012,,,,",
        "A. Muster,0049 171 3920012,,,,",
        '"Muster, Anna",,ANNA@example.com,,,',
        "Frau Anna Muster,,anna@example.com,,,",
        "Anna Mustre,0171 3920012,,,,",
        ",0171 3920012,,,,",
        "Anna Muster,,,s-1,,",
    ],
)
def test_an_owner_is_known_again_by_phone_mail_or_serial_number_and_a_name_that_fits(row: str):
    books = books_with(ANNA, HERS)
    made = brought(HEAD + row + "\n", books)
    assert made.count("new") == 0
    assert list(books.people) == ["p-anna"]
    assert list(books.tubs) == ["t-anna"]


def test_the_same_phone_under_another_name_is_somebody_else_and_said_so():
    made = brought(HEAD + "Jan Muster,0171 3920012,,,,\n", books_with(ANNA, HERS))
    assert made.count("new") == 1
    assert remarks(made) == [(2, "reached_by_another")]


def test_a_serial_number_of_somebody_else_s_tub_is_not_handed_over_by_a_sheet():
    books = books_with(ANNA, HERS)
    made = brought(HEAD + "Zoe Probe,0171 3920099,,S-1,,\n", books)
    assert made.changes == []
    assert remarks(made) == [(2, "serial_elsewhere")]
    assert made.remarks[0].values["name"] == "Anna Muster"


def test_one_owner_twice_in_a_sheet_is_one_and_another_serial_number_is_a_second_tub():
    made = brought(
        HEAD
        + "Anna Muster,0171 3920012,,S-1,A5,\nAnna Muster,+49 171 3920012,anna@example.com,S-1,,1300\n"
        + "Anna Muster,0171 3920012,,S-2,A6,\n"
    )
    assert remarks(made) == [(3, "double")]
    assert len({change.person[1].key for change in made.changes}) == 1
    assert len({change.tub[1].key for change in made.changes}) == 2
    assert made.changes[1].tub[1].volume == 1300.0


def test_owners_who_joined_keep_what_they_said_and_the_list_fills_what_is_missing():
    books = books_with(JOINED, HERS.model_copy(update={"sanitizer": None}))
    made = brought("name,phone,serial,vol,sanitizer\nA. Muster,0171 3920012,S-1,1500,chlorine\n", books)
    [change] = made.changes
    assert change.person[1].name == "Anna Muster"
    assert (change.tub[1].volume, change.tub[1].sanitizer) == (1300.0, "chlorine")
    assert remarks(made) == [(2, "kept_owner_s")]


def test_of_owners_who_did_not_join_yet_the_newer_list_is_right():
    made = brought(HEAD + "Anna Muster-Probe,0171 3920012,,S-1,,1500\n", books_with(ANNA, HERS))
    [change] = made.changes
    assert (change.person[1].name, change.tub[1].volume) == ("Anna Muster-Probe", 1500.0)


def test_a_new_number_stands_before_the_old_one():
    made = brought(HEAD + "Anna Muster,0171 3920099,anna@example.com,,,\n", books_with(ANNA, HERS))
    assert made.changes[0].person[1].phones == ("+491713920099", "+491713920012")


def test_whoever_asked_to_be_forgotten_is_not_brought_back_by_the_same_file():
    made = brought(HEAD + "Anna Muster,0171 3920012,,,,\n")
    gone = Person(key=made.changes[0].person[1].key, dealer="house", standing="erased")
    again = brought(HEAD + "Anna Muster,0171 3920012,,,,\n", books_with(gone))
    assert again.changes == []
    assert remarks(again) == [(2, "erased")]


@pytest.mark.parametrize(
    ("one", "other", "fits"),
    [
        ("Anna Beispiel", "Beispiel, Anna", True),
        ("A. Beispiel", "Anna Beispiel", True),
        ("Müller Jörg", "Jörg Müller", True),
        ("Anna", "Anna Beispiel", True),
        ("", "Anna Beispiel", True),
        ("Anna Beispiel", "Jan Beispiel", False),
        ("Anna Beispiel", "Anna Muster", False),
        ("Probe KG", "Anna Muster", False),
    ],
)
def test_names_fit_where_they_can_be_one_person_s(one: str, other: str, fits: bool):
    assert compatible(one, other) is fits


def test_what_the_dealer_says_of_a_model_fills_what_the_list_leaves_out():
    model = TubModel(
        name="Model A5", aliases=("A5",), volume=1350.0, pumps=2, supply="hard_wired", sanitizer="chlorine"
    )
    dealer = DEALER.model_copy(update={"models": (model,)})
    sheet = sheet_of("name,model,vol\nA B,Model A5,\nC D,model a5,1400\nE F,A6,\nG H,Model A5,900\n")
    made = bring(sheet, Books(), dealer, "d", "metric")
    tubs = [change.tub[1] for change in made.changes]
    assert [tub.volume for tub in tubs] == [1350.0, 1400.0, None, 900.0]
    assert [(tub.pumps, tub.supply, tub.sanitizer) for tub in tubs] == [
        (2, "hard_wired", "chlorine"),
        (2, "hard_wired", "chlorine"),
        (None, None, None),
        (2, "hard_wired", "chlorine"),
    ]
    assert remarks(made) == [(5, "volume_of_model")]

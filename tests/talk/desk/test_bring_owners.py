"""The dealer sends a list into the chat: it is looked at, asked about, shown, and then brought in."""

import pytest

from bot.model.event import File, Sent
from bot.model.fact import CaseSaid
from bot.model.trail import OwnersBrought
from bot.run.intake import books_of
from tests.talk.world import HOUSE, Actor, World

LIST = """Name;Telefon;Modell;vol;Geliefert;x1
Müller Anna;0171 3920012;Model A5;1.350;03/04/2026;J
Probe Jan;0171 3920013;Mod. A-5;400;04/05/2026;N
???;;;1100;;
"""
SIMPLE = "name,phone\nAnna Muster,+491713920012\n"


def sends(
    world: World, actor: Actor, text: str, *, name: str = "owners.csv", encoding: str = "utf-8", caption: str = ""
) -> Actor:
    (world.folder / name).write_bytes(text.encode(encoding))
    file = File(what="document", reference=name, name=name, size=len(text))
    return actor.does(Sent(files=(file,), caption=caption))


def names(world: World) -> list[str]:
    people = world.do(books_of(world.store, HOUSE)).people.values()
    return sorted(person.name for person in people)


@pytest.fixture
def house():
    with World(zone="Europe/Berlin") as world:
        yield world


def test_a_list_is_shown_asked_about_once_and_brought_in_when_the_dealer_says_so(house: World):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, LIST, encoding="cp1252")
    assert "windows" not in ines.last.text.lower()
    for shown in ("3 rows", "cp1252", "Müller Anna", "Telefon: phone", "x1", "Germany"):
        assert shown in ines.last.text
    ines.taps("All right")
    assert "400" in ines.last.text
    ines.taps("US gallons")
    assert "03/04/2026" in ines.last.text
    ines.taps("The day")
    assert "Mod. A-5" in ines.last.text
    ines.taps("The same")
    assert "2 new owners" in ines.last.text
    assert "Line 4" in ines.last.text
    assert names(house) == []
    ines.taps("Bring them in")
    assert "2 new" in ines.last.text
    books = house.do(books_of(house.store, HOUSE))
    assert names(house) == ["Müller Anna", "Probe Jan"]
    assert sorted(tub.volume or 0 for tub in books.tubs.values()) == [1350.0, 1514.2]
    assert {tub.model for tub in books.tubs.values()} == {"Model A5"}
    [fact] = [entry for _, entry in house.do(house.store.journal(HOUSE)) if isinstance(entry.fact, OwnersBrought)]
    assert fact.person == ines.person.key


def test_the_same_list_again_asks_nothing_and_changes_nothing(house: World):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, LIST).taps("All right").taps("US gallons").taps("The day").taps("The same").taps("Bring them in")
    sends(house, ines, LIST).taps("All right")
    assert "nothing to change" in ines.last.text
    ines.taps("Cancel")
    assert len(names(house)) == 2


def test_a_column_can_be_read_differently(house: World):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, "name,phone,extra\nAnna Muster,0171 3920012,bring the ramp\n")
    ines.taps("Change a column").taps("C extra").taps("note")
    assert "extra: note (bring the ramp)" in ines.last.text
    ines.taps("All right").taps("Bring them in")
    [person] = house.do(books_of(house.store, HOUSE)).people.values()
    assert person.note == "bring the ramp"


def test_phone_numbers_are_of_the_country_that_the_dealer_names_also_the_next_time(house: World):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, "Nom;Tél\nMarie Dupont;06 39 98 00 12\n").taps("Another country").says("Atlantis")
    assert "don't know that country" in ines.last.text
    ines.says("Frankreich")
    assert "France" in ines.last.text
    ines.taps("All right").taps("Bring them in")
    sends(house, ines, "Nom;Tél\nMarie Dupont;06 39 98 00 12\nPaul Essai;06 39 98 00 13\n")
    assert "France" in ines.last.text
    ines.taps("All right").taps("Bring them in")
    people = house.do(books_of(house.store, HOUSE)).people.values()
    assert sorted(person.phones[0] for person in people) == ["+33639980012", "+33639980013"]


def test_all_remarks_come_as_a_file_and_are_kept_nowhere(house: World):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, "name,phone\nAnna,12\n???,\n").taps("All right").taps("All remarks")
    made = [parcel.made for parcel in house.sent if parcel.made]
    assert [one.name for one in made] == ["remarks.csv"]
    assert "phone number" in made[0].content.decode("utf-8-sig")
    assert "above" in ines.last.text


@pytest.mark.parametrize(
    ("text", "says"),
    [
        ('name,phone,note\nA,1,x\nB,2,"open\nC,3,y\n', "line 3"),
        ("colour,price\nred,3\n", "no column"),
        ("", "nothing"),
    ],
)
def test_a_list_that_cannot_be_read_says_why_and_changes_nothing(house: World, text: str, says: str):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, text)
    assert says in ines.last.text
    assert names(house) == []


def test_cancelling_changes_nothing(house: World):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, SIMPLE).taps("Cancel")
    sends(house, ines, SIMPLE).taps("All right").taps("Cancel")
    assert "Nothing was changed" in ines.last.text
    assert names(house) == []


def test_a_file_that_has_gone_is_said_so(house: World):
    ines = house.staff("Ines", "dealer")
    ines.does(Sent(files=(File(what="document", reference="gone.csv", name="gone.csv"),)))
    assert "send it again" in ines.last.text


def test_a_restart_in_the_middle_loses_nothing(house: World):
    ines = house.staff("Ines", "dealer")
    sends(house, ines, SIMPLE)
    house.restart()
    ines.taps("All right")
    house.restart()
    ines.taps("Bring them in")
    assert names(house) == ["Anna Muster"]


def test_a_technician_s_file_is_no_list(house: World):
    tom = house.staff("Tom")
    sends(house, tom, SIMPLE)
    assert "column" not in tom.last.text
    assert names(house) == []


def test_a_list_does_not_go_to_an_owner_by_mistake(house: World):
    ada, ines = house.owner("Ada"), house.staff("Ines", "dealer")
    ada.says("person").says("my cover is torn")
    ines.taps("Take it")
    before = len(ada.messages)
    sends(house, ines, SIMPLE, caption="for you")
    assert "Ada" in ines.last.text
    assert len(ada.messages) == before
    ines.taps("Send it to them")
    assert any(message.file and message.file.name == "owners.csv" for message in ada.messages[before:])
    said = [entry.fact for _, entry in house.do(house.store.journal(HOUSE)) if isinstance(entry.fact, CaseSaid)]
    assert said[-1].text == "for you"
    sends(house, ines, SIMPLE).taps("Bring owners in").taps("All right").taps("Bring them in")
    assert "Anna Muster" in names(house)


@pytest.mark.parametrize("language", ["en", "de", "fr", "es"])
def test_every_message_fits_a_phone_in_every_language(house: World, language: str):
    ines = house.staff("Ines", "dealer", language=language)
    columns = [f"column {n}" for n in range(30)]
    titles = ";".join(
        ["Name", "Telefon", "E-Mail", "Modell", "vol", "Geliefert", "Ort", "Sprache", "Seriennr", *columns]
    )
    rows = "\n".join(f"Anna Muster{n};{n};x;Model A{n % 3};40{n};03/04/2026;Ort;xx;=1;y" for n in range(9))
    sends(house, ines, f"{titles}\n{rows}\n")
    for value in ("right", "skip", "skip"):
        assert len(ines.last.text) < 1100
        ines.answers(ines.last.asks or "", value)
    assert ines.last.asks == "agree"
    assert len(ines.last.text) < 1100

"""Owners in the books are invited: cards go to the dealer, each lets one owner in, once, as who they are."""

import re

import pytest

from bot.model.event import File, Sent
from bot.model.trail import InvitesIssued
from bot.run.intake import books_of
from bot.run.invites import issue, not_joined
from tests.talk.world import HOUSE, Actor, World

LIST = """name,phone,model,vol,sanitizer
Anna Muster,+491713920012,Model A5,1350,chlorine
Jan Probe,+491713920013,A6,,
"""


@pytest.fixture
def house():
    with World(zone="Europe/Berlin") as world:
        yield world


@pytest.fixture
def ines(house: World) -> Actor:
    ines = house.staff("Ines", "dealer")
    (house.folder / "owners.csv").write_text(LIST)
    ines.does(Sent(files=(File(what="document", reference="owners.csv", name="owners.csv"),)))
    return ines.taps("All right").taps("Bring them in")


def files(house: World) -> dict[str, bytes]:
    return {parcel.made.name: parcel.made.content for parcel in house.sent if parcel.made}


def secrets_for(house: World, *names: str) -> list[str]:
    """Invites made as the cards are, with what is printed on them."""
    waits = house.do(not_joined(house.store, HOUSE, house.clock.now()))
    wanted = [one for one in waits if one.person.name in names]
    made = house.do(issue(house.store, HOUSE, wanted, house.clock.now(), days=30, by=None, via="test"))
    return [one.secret for one in made]


def test_the_dealer_sees_who_has_not_joined_and_gets_cards_for_them(house: World, ines: Actor):
    ines.says("/invites")
    assert "2 owners have not joined" in ines.last.text
    assert "Anna Muster" in ines.last.text
    ines.taps("Cards to print")
    assert "2 cards" in ines.last.text
    assert files(house)["cards.pdf"].startswith(b"%PDF")
    facts = [entry for _, entry in house.do(house.store.journal(HOUSE)) if isinstance(entry.fact, InvitesIssued)]
    assert [(entry.person, entry.fact.what, len(entry.fact.people)) for entry in facts] == [
        (ines.person.key, "issued", 2)
    ]


def test_a_link_is_stored_nowhere(house: World, ines: Actor):
    ines.says("/invites").taps("Cards to print")
    texts = re.findall(rb"\(rehearsal:[^)]*\)|rehearsal:[\w-]+", files(house)["cards.pdf"])
    stored = b"".join(path.read_bytes() for path in house.folder.glob("world.sqlite*"))
    assert b"rehearsal:" not in stored
    assert all(text not in stored for text in texts)


def test_an_owner_who_comes_in_by_their_card_is_who_is_in_the_books(house: World, ines: Actor):
    [secret] = secrets_for(house, "Anna Muster")
    anna = house.stranger("anna").opens(secret)
    assert "Anna Muster" in anna.messages[0].text
    people = house.do(books_of(house.store, HOUSE)).people.values()
    assert len([person for person in people if person.name == "Anna Muster"]) == 1
    [person] = [person for person in people if person.address]
    assert (person.phones, person.name) == (("+491713920012",), "Anna Muster")
    ines.says("/invites")
    assert "One owner has not joined" in ines.last.text


def test_what_the_list_said_of_the_tub_is_not_asked_again(house: World, ines: Actor):
    [secret] = secrets_for(house, "Anna Muster")
    house.stranger("anna").opens(secret)
    books = house.do(books_of(house.store, HOUSE))
    [person] = [person for person in books.people.values() if person.address]
    [tub] = [books.tubs[key] for key in books.tubs_of[person.key]]
    assert (tub.volume, tub.sanitizer, tub.model) == (1350.0, "chlorine", "Model A5")


def test_a_card_works_once_and_only_the_newest_one(house: World, ines: Actor):
    [first] = secrets_for(house, "Anna Muster")
    [second] = secrets_for(house, "Anna Muster")
    assert "expired" in house.stranger("early").opens(first).last.text
    house.stranger("anna").opens(second)
    assert "used" in house.stranger("late").opens(second).last.text


def test_an_owner_s_two_links_make_one_person(house: World, ines: Actor):
    [secret] = secrets_for(house, "Anna Muster")
    house.stranger("anna").opens(secret)
    [other] = secrets_for(house, "Jan Probe")
    house.stranger("jan").opens(other)
    people = [person for person in house.do(books_of(house.store, HOUSE)).people.values() if person.address]
    assert sorted(person.name for person in people) == ["Anna Muster", "Jan Probe"]


def test_open_invites_can_be_withdrawn_and_expire(house: World, ines: Actor):
    [secret] = secrets_for(house, "Anna Muster")
    ines.says("/invites")
    assert "With an open invite: 1" in ines.last.text
    ines.taps("Withdraw all open").taps("Yes")
    assert "One invite is withdrawn" in ines.last.text
    assert "expired" in house.stranger("anna").opens(secret).last.text
    [again] = secrets_for(house, "Anna Muster")
    house.passes(days=31)
    assert "expired" in house.stranger("anna2").opens(again).last.text


def test_new_cards_are_made_for_those_without_unless_all_are_wanted(house: World, ines: Actor):
    [secret] = secrets_for(house, "Anna Muster")
    ines.says("/invites").taps("Cards to print").taps("Only those without")
    assert "One card" in ines.last.text
    assert "used" not in house.stranger("anna").opens(secret).last.text
    ines.says("/invites").taps("Cards to print").taps("All of them")
    assert "One card" in ines.last.text


def test_the_list_of_who_has_not_joined_comes_as_a_table(house: World, ines: Actor):
    ines.says("/invites").taps("The list")
    rows = files(house)["not-joined.csv"].decode("utf-8-sig").splitlines()
    assert rows[1].startswith("Anna Muster,+49 171")
    assert rows[1].endswith("no invite")


@pytest.mark.parametrize("order", ["/invites", "/import"])
def test_a_technician_is_told_that_the_dealer_does_that(house: World, order: str):
    tom = house.staff("Tom")
    tom.says(order)
    assert "Only the dealer" in tom.last.text


def test_the_dealer_is_told_how_to_bring_owners_in(house: World):
    assert "XLSX" in house.staff("Ines", "dealer").says("/import").last.text


def test_importing_again_does_not_throw_out_who_has_joined(house: World, ines: Actor):
    [secret] = secrets_for(house, "Anna Muster")
    anna = house.stranger("anna").opens(secret)
    ines.does(Sent(files=(File(what="document", reference="owners.csv", name="owners.csv"),))).taps("All right")
    assert "nothing to change" in ines.last.text
    anna.says("hello")
    assert anna.last.text

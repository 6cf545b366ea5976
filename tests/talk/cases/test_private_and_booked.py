"""What may show a body is seen by few; what an owner tells of additions is booked with a tap."""

from bot.model.event import File, Sent
from bot.talk.buttons import CaseButton, encode
from tests.talk.crew import SHOCK, Crew, asked
from tests.talk.world import Actor, texts

PHOTO = File(what="photo", reference="abc")
RASH = "my whole family has a rash after bathing, and my son has a fever"


def shows(actor: Actor) -> int:
    return sum(message.file == PHOTO for message in actor.messages)


# -- files


def test_a_photo_in_a_danger_that_nobody_has_goes_to_the_dealer_alone(crew: Crew) -> None:
    crew.ada.says(RASH)
    crew.ada.does(Sent(files=(PHOTO,), caption="his back"))
    assert [shows(who) for who in (crew.tom, crew.una, crew.dee)] == [0, 0, 1]
    assert "his back" in crew.tom.text
    assert "Something was sent with it" in crew.tom.text
    crew.tom.taps("Take it")
    assert [shows(who) for who in (crew.tom, crew.una)] == [1, 0]


def test_a_photo_about_health_goes_to_whoever_has_the_case_even_where_the_group_talks(crew: Crew) -> None:
    crew.dee.at("Crew").names_it()
    crew.ada.says(RASH)
    case = crew.world.facts("case")[-1].case
    crew.tom.at("Crew", case).taps("Take it")
    crew.ada.does(Sent(files=(PHOTO,), caption="his back"))
    group = crew.world.phones["Crew"].messages
    assert not any(message.file == PHOTO for message in group)
    assert "his back" in group[-1].text
    assert [shows(who) for who in (crew.tom, crew.una, crew.dee)] == [1, 0, 0]


def test_another_photo_is_seen_by_whoever_talks_about_the_case(crew: Crew) -> None:
    crew.dee.at("Crew").names_it()
    crew.ada.says(SHOCK)
    case = crew.world.facts("case")[-1].case
    crew.tom.at("Crew", case).taps("Take it")
    crew.ada.does(Sent(files=(PHOTO,), caption="the plug"))
    assert any(message.file == PHOTO for message in crew.world.phones["Crew"].messages)


# -- booking


def told(crew: Crew, text: str = "I put 3 caps of ph down in an hour ago") -> str:
    case = asked(crew)
    crew.tom.taps("Take it")
    crew.ada.says(text)
    return case


def test_what_an_owner_put_in_is_booked_with_one_tap_of_who_has_the_case(crew: Crew) -> None:
    told(crew)
    assert "Book it" in crew.tom.buttons
    assert crew.world.facts("addition", crew.ada) == []
    crew.tom.taps("Book it")
    (added,) = crew.world.facts("addition", crew.ada)
    bisulfate = crew.world.dealer.kit.named("bisulfate")
    assert bisulfate
    assert added.product == "bisulfate"
    assert added.grams == bisulfate.grams(3, "cap")
    assert added.substances == bisulfate.split(added.grams)
    (entry,) = [entry for entry in crew.world.journal(crew.ada) if entry.fact.kind == "addition"]
    assert (crew.world.clock.now() - entry.at).total_seconds() == 3600
    assert "Written down for you: pH decreaser (bisulfate) 126 g." in crew.ada.text


def test_it_is_booked_once(crew: Crew) -> None:
    told(crew)
    crew.tom.taps("Book it").taps("Book it")
    assert len(crew.world.facts("addition", crew.ada)) == 1
    assert "already" in crew.tom.text


def test_nobody_else_books_it(crew: Crew) -> None:
    case = told(crew)
    crew.una.taps_data(encode(CaseButton(case, "book0")))
    crew.tom.taps_data(encode(CaseButton(case, "book7")))
    crew.tom.taps_data(encode(CaseButton(case, "book")))
    assert crew.world.facts("addition", crew.ada) == []


def test_what_tells_of_no_addition_has_no_such_button(crew: Crew) -> None:
    told(crew, "should I put 3 caps of ph down in?")
    assert "Book it" not in crew.tom.buttons
    assert "3 caps" in texts(crew.tom.messages)

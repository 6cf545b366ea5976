"""What the dealer's people ask for: old cases, figures, the team, and a case of their own."""

import pytest

from bot.model.event import Began, Tapped
from bot.model.person import Invite, digest_of
from bot.talk.buttons import PersonButton, encode
from tests.talk.crew import QUESTION, Crew, asked
from tests.talk.world import HOUSE, texts


def closed(crew: Crew) -> str:
    case = asked(crew)
    crew.tom.taps("Take it").says("No, the frame would bend.")
    crew.tom.taps("Close it").taps("Solved").says("sold a new one")
    return case


# -- old cases


@pytest.mark.parametrize("words", ["ada", "OLD COVER", "frame would", "sold a new"])
def test_an_old_case_is_found_by_owner_or_by_any_word_in_it(crew: Crew, words: str) -> None:
    closed(crew)
    before = len(crew.ada.messages)
    crew.una.says(f"/find {words}")
    assert QUESTION in crew.una.text
    assert "Closed Mon 1 Mar" in crew.una.text
    crew.una.taps("Show it")
    assert "We: No, the frame would bend." in crew.una.text
    assert "Note among us: sold a new one" in crew.una.text
    assert len(crew.ada.messages) == before


def test_it_is_found_by_its_tub(crew: Crew) -> None:
    bea = crew.world.owner("Bea", model="Fjord 4")
    bea.says("person").says("how do I open it")
    crew.una.says("/find fjord")
    assert "how do I open it" in crew.una.text
    assert "Nobody has it." in crew.una.text


def test_what_is_not_there_is_said(crew: Crew) -> None:
    closed(crew)
    crew.una.says("/find zebra")
    assert "no case with “zebra”" in crew.una.text
    crew.una.says("/find")
    assert "/find Ada" in crew.una.text


def test_a_closed_case_is_opened_again_by_staff_and_the_talk_goes_on(crew: Crew) -> None:
    case = closed(crew)
    crew.una.says("/find ada").taps("Show it").taps("Open it again")
    assert "Una is looking at this now" in crew.ada.text
    crew.una.says("One more thing.")
    assert "One more thing." in crew.ada.text
    assert [fact.case for fact in crew.world.facts("reopened")] == [case]
    crew.ada.says("go on, please, I listen")
    assert "go on, please" in crew.una.text


def test_what_begins_with_a_slash_never_goes_to_an_owner(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    before = len(crew.ada.messages)
    for text in ("/find me", "/figures", "/team", "/case", "/help", "/nonsense 20 g", "/cases"):
        crew.tom.says(text)
        assert crew.tom.new
    assert len(crew.ada.messages) == before


def test_owners_cannot_ask_for_any_of_it(crew: Crew) -> None:
    closed(crew)
    for text in ("/find ada", "/figures", "/team", "/case bea"):
        crew.ada.says(text)
    crew.ada.taps_data(encode(PersonButton("p-una", "gone")))
    crew.ada.taps_data(encode(PersonButton("p-una", "open")))
    said = texts(crew.ada.messages)
    assert "sold a new one" not in said
    assert "median" not in said
    assert crew.una.known.person
    assert crew.una.known.person.standing == "active"


# -- figures


def test_the_figures_say_what_is_open_who_waits_and_how_quick_the_answers_were(crew: Crew) -> None:
    asked(crew)
    crew.world.passes(minutes=20)
    crew.tom.taps("Take it").says("No.")
    crew.world.passes(hours=3)
    crew.tom.taps("Close it").taps("Solved").taps("Skip")
    crew.ada.taps("It helped")
    bea = crew.world.owner("Bea")
    bea.says("person").says("how do I open it")
    crew.world.passes(minutes=25)
    crew.dee.says("/figures")
    assert "Open cases: 1. Nobody has: 1. Owners waiting for an answer: 1." in crew.dee.text
    assert "The longest has been waiting for 25 minutes." in crew.dee.text
    assert "In 30 days: opened 2, closed 1, “it helped” 1." in crew.dee.text
    assert "First answer after (median): 20 minutes" in crew.dee.text
    assert "Closed after (median): 3.5 hours" in crew.dee.text


# -- the team


def test_the_dealer_takes_a_technician_out_with_two_taps_and_their_cases_go_back(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    old = crew.tom.button("Close it")
    crew.dee.says("/team")
    assert "Tom Tanner, technician: has 1 case" in texts(crew.dee.new)
    crew.dee.taps("Take out Tom")
    assert crew.world.facts("given_back") == []
    crew.dee.taps("Yes, take out")
    assert "no longer belongs" in crew.tom.text
    assert "Nobody has this case any more" in texts(crew.una.new)
    before = len(crew.ada.messages)
    crew.tom.says("Still me").taps_data(old.data)
    assert "no longer belongs" in crew.tom.text
    assert len(crew.ada.messages) == before
    assert crew.world.facts("cleared") == []
    crew.una.taps("Take it").says("I have it now.")
    assert "I have it now." in crew.ada.text


def test_only_the_dealer_takes_people_out_and_nobody_themselves(crew: Crew) -> None:
    crew.una.says("/team")
    assert crew.una.buttons == []
    crew.una.taps_data(encode(PersonButton("p-tom tanner", "gone")))
    crew.dee.taps_data(encode(PersonButton("p-dee", "gone")))
    assert "Only the dealer" in crew.dee.text
    assert {person.name for person in crew.dee.known.staff} == {"Tom Tanner", "Una", "Dee"}


def test_who_was_taken_out_comes_back_by_a_new_invite_alone(crew: Crew) -> None:
    crew.dee.says("/team").taps("Take out Tom").taps("Yes, take out")
    crew.tom.does(Began(invite=digest_of("unknown")))
    assert "Tom Tanner" not in {person.name for person in crew.dee.known.staff}
    secret = digest_of("come back")
    expires = crew.world.clock.now().replace(year=2028)
    invite = Invite(digest=secret, dealer=HOUSE, role="technician", name="Tom Tanner", expires=expires)
    crew.world.do(crew.world.store.put_invite(invite))
    crew.tom.does(Began(invite=secret))
    assert "You are a technician of Tidewell Tubs now" in crew.tom.text
    asked(crew)
    crew.tom.taps("Take it")
    assert "Tom is looking at this now" in crew.ada.text


# -- a case of their own


def test_staff_open_a_case_about_an_owner_and_talk_with_them(crew: Crew) -> None:
    crew.world.owner("Bea")
    crew.dee.says("/case ad")
    assert "Ada" in crew.dee.text
    crew.dee.taps("Open a case")
    assert "Dee of Tidewell Tubs has a word with you here" in crew.ada.text
    crew.dee.says("May I come on Monday?")
    assert "May I come on Monday?" in crew.ada.text
    crew.ada.says("any time after lunch is good for me")
    assert "after lunch" in crew.dee.text
    (case,) = crew.world.facts("case", crew.ada)
    assert (case.klass, case.reasons) == ("question", ("by_staff",))
    crew.world.passes(hours=2)
    assert "Nobody has taken" not in texts(crew.tom.messages)


def test_nobody_of_that_name_is_said(crew: Crew) -> None:
    crew.dee.says("/case zoe")
    assert "no owner called “zoe”" in crew.dee.text
    crew.dee.does(Tapped(data=encode(PersonButton("p-zoe", "open"))))
    assert crew.world.facts("case") == []


def test_who_wants_no_messages_is_left_alone(crew: Crew) -> None:
    crew.ada.says("stop")
    before = len(crew.ada.messages)
    crew.dee.says("/case ada").taps("Open a case")
    assert "no more messages" in crew.dee.text
    assert len(crew.ada.messages) == before
    assert crew.world.facts("case") == []

"""The dealer writes a round in the chat, and what becomes of it."""

from collections.abc import Iterator
from datetime import UTC, datetime, time

import pytest

from bot.model.dealer import Bulk, Quiet
from bot.model.event import Blocked
from bot.talk.words import languages
from tests.talk.world import Actor, World, texts

NEVER = Quiet(start=time(0), end=time(0))
NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)


@pytest.fixture
def world() -> Iterator[World]:
    with World(NOON, quiet=NEVER) as world:
        yield world


def written(ines: Actor, whom: str = "all", *words: str, kind: str = "Reminder or news") -> Actor:
    """Write a round up to the last look."""
    ines.says("round")
    if "New message to many" in ines.buttons:
        ines.taps("New message to many")
    ines.taps(kind)
    ines.says(whom).taps("That is all") if whom != "all" and "," not in whom else ines.says(whom)
    ines.taps("Write the message").says(words[0] if words else "Hello {name}, we are closed next week.")
    return ines


def sent(ines: Actor, *words: str, kind: str = "Reminder or news") -> Actor:
    return written(ines, "all", *words, kind=kind).taps("Now").taps("Send")


def test_a_round_is_written_seen_confirmed_sent_and_reported(world: World):
    ada, bo, ines = world.owner("Ada"), world.owner("Bo"), world.staff("Ines", "dealer")
    bo.says("stop")
    written(ines).taps("Now")
    assert "1 owner" in texts(ines.messages)
    assert "1 who want no messages" in texts(ines.messages)
    preview = ines.text
    assert ada.messages == []
    ines.taps("Send")
    assert ada.text in preview
    assert ada.last.lane == "bulk"
    assert ada.buttons == ["Done", "Call me"]
    assert "is over" in texts(ines.new)
    assert ines.last.enclosure is not None
    assert "Bo" in ines.last.enclosure.content
    assert world.facts("round_order")[0].people == 1


def test_only_the_dealer_may(world: World):
    world.owner("Ada")
    tom = world.staff("Tom")
    for said in ("round", "/round"):
        tom.says(said)
        assert tom.conversation.flows == ()
    ines = world.staff("Ines", "dealer")
    sent(ines)
    tom.taps_data(ines.button("Report").data)
    assert "no longer" in tom.text or "old" in tom.text or "button" in tom.text
    assert tom.last.enclosure is None


@pytest.mark.parametrize("language", languages())
def test_it_can_be_written_in_every_language(world: World, language: str):
    ada = world.owner("Ada", person={"language": language})
    ines = world.staff("Ines", "dealer", language=language)
    ines.says("/round").answers("kind", "reminder").says("all")
    turn = ines.turn
    assert turn is not None
    assert turn.ask is not None
    ines.taps_data(ines.last.buttons[0][0].data).says("Hi {name}").taps_data(ines.last.buttons[0][0].data)
    ines.taps_data(ines.last.buttons[0][0].data)
    assert ada.text.startswith("Hi Ada")


def test_criteria_are_tapped_one_after_the_other(world: World):
    ada, bo = world.owner("Ada", cartridge=True), world.owner("Bo", sanitizer="bromine", cartridge=True)
    ines = world.staff("Ines", "dealer")
    ines.says("round").taps("Reminder or news").taps("Chlorine").taps("Cartridge due").says("about 90 days")
    ines.taps("That is all")
    assert "1 owner gets it. For example: Ada." in ines.text
    ines.taps("Write the message").says("By {due}, {name}!").taps("Now").taps("Send")
    assert ada.text.startswith("By Tue 11 May, Ada!") or ada.text.startswith("By ")
    assert bo.messages == []
    ada.taps("Done")
    assert world.facts("cartridge", ada)
    assert world.facts("round_answer")[0].answer == "done"


def test_a_wrong_line_is_explained_and_asked_again(world: World):
    world.owner("Ada")
    ines = world.staff("Ines", "dealer").says("round").taps("Reminder or news").says("purple")
    assert "“purple” is no criterion" in ines.text
    ines.taps("More").taps("Delivered between").says("last year")
    assert "no span of days" in ines.text


def test_nobody_is_said_and_others_can_be_chosen(world: World):
    world.owner("Ada")
    ines = world.staff("Ines", "dealer").says("round").taps("Reminder or news").says("bromine, lang=en")
    assert "Nobody would get it" in ines.text
    ines.says("all").taps("Choose others").says("all").taps("Cancel")
    assert ines.text == "Dropped. Nothing was sent."
    assert world.do(world.store.rounds_at_work()) == []


def test_many_recipients_are_confirmed_by_their_number():
    with World(NOON, quiet=NEVER, bulk=Bulk(confirm_from=3)) as world:
        owners = [world.owner(name) for name in ("Ada", "Bo", "Cy")]
        ines = written(world.staff("Ines", "dealer")).taps("Now")
        assert "Write that number" in ines.text
        ines.says("yes").says("4")
        assert not any(owner.messages for owner in owners)
        ines.says("3")
        assert all(owner.messages for owner in owners)


def test_pressing_send_twice_and_two_dealers_at_once_sends_once(world: World):
    ada, ines, ivo = world.owner("Ada"), world.staff("Ines", "dealer"), world.staff("Ivo", "dealer")
    written(ines).taps("Now")
    send = ines.button("Send").data
    ines.taps_data(send).taps_data(send)
    assert len(ada.messages) == 1
    ivo.says("round").taps("Reminder or news").says("all")
    assert "Nobody would get it" in ivo.text
    assert "1 who got another one lately" in ivo.text


def test_each_language_gets_its_own_words_or_the_dealers(world: World):
    ada, uwe = world.owner("Ada"), world.owner("Uwe", person={"language": "de"})
    luc = world.owner("Luc", person={"language": "fr"})
    ines = world.staff("Ines", "dealer").says("round").taps("Reminder or news").says("all").taps("Write the message")
    ines.says("Hi {name}")
    for _ in range(2):
        ines.says("Hallo {name}") if "German" in ines.text else ines.taps("As it is")
    ines.taps("Now")
    assert "This is how Uwe gets it (German)" in ines.text
    ines.taps("Send")
    assert [actor.text.partition("\n")[0] for actor in (ada, uwe, luc)] == ["Hi Ada", "Hallo Uwe", "Hi Luc"]


def test_quiet_hours_put_it_off_and_a_safety_notice_breaks_them():
    with World(datetime(2027, 3, 1, 23, tzinfo=UTC)) as world:
        ada = world.owner("Ada")
        dan = world.owner("Dan", person={"zone": "America/New_York"})
        ines = world.staff("Ines", "dealer")
        written(ines).taps("Now")
        assert "In quiet hours, so later: 1 in UTC, Tue 2 Mar, 09:00 your time." in ines.text
        ines.taps("Send")
        assert (len(ada.messages), len(dan.messages)) == (0, 1)
        sent(ines, "Do not use the tub, {name}.", kind="Safety notice")
        assert ada.text.startswith("Safety notice from Tidewell Tubs")
        world.passes(hours=11)
        assert len(ada.messages) == 2


def test_a_time_of_day_is_that_of_each_owners_zone(world: World):
    ada, kim = world.owner("Ada"), world.owner("Kim", person={"zone": "Asia/Tokyo"})
    written(world.staff("Ines", "dealer")).says("tomorrow 17:30").taps("Send")
    world.passes(hours=20, minutes=29)
    assert kim.messages == []
    world.passes(minutes=1)
    assert (len(kim.messages), len(ada.messages)) == (1, 0)
    world.passes(hours=9)
    assert len(ada.messages) == 1


def test_it_is_paused_resumed_and_cancelled_between(world: World):
    owners = [world.owner(f"O{number}") for number in range(8)]
    ines = world.staff("Ines", "dealer")
    written(ines).taps("Over 4 hours").taps("Send")
    world.passes(hours=1, minutes=1)
    got = sum(bool(owner.messages) for owner in owners)
    assert 1 < got < 5
    ines.taps("Pause")
    world.passes(hours=1)
    assert sum(bool(owner.messages) for owner in owners) == got
    ines.taps("Go on")
    world.passes(minutes=1)
    more = sum(bool(owner.messages) for owner in owners)
    assert got < more < 8
    ines.taps("Cancel the rest").taps("Cancel the rest")
    world.passes(hours=9)
    assert sum(bool(owner.messages) for owner in owners) == more
    assert "was cancelled" in texts(ines.messages)


def test_a_restart_in_the_middle_of_a_round_changes_nothing(world: World):
    owners = [world.owner(f"O{number}") for number in range(6)]
    written(world.staff("Ines", "dealer")).taps("Over 4 hours").taps("Send")
    for _ in range(5):
        world.restart()
        world.passes(hours=1)
    assert [len(owner.messages) for owner in owners] == [1] * 6


def test_blocked_owners_are_told_apart_and_listed_to_be_phoned(world: World):
    world.owner("Ada")
    bo = world.owner("Bo")
    world.phones["Bo"].blocked = True
    ines = sent(world.staff("Ines", "dealer"))
    assert "blocked the bot: 1" in texts(ines.messages)
    assert "does not reach 1 of them" in texts(ines.messages)
    bo.does(Blocked())
    sent(ines, "Stop using it", kind="Safety notice")
    assert "1 who blocked the bot" in texts(ines.new)


def test_a_recall_reaches_those_who_said_stop_and_keeps_who_has_not_read_it(world: World):
    ada, bo, ines = world.owner("Ada"), world.owner("Bo"), world.staff("Ines", "dealer")
    bo.says("stop")
    sent(ines, "Do not use the heater, {name}.", kind="Safety recall")
    assert bo.text.startswith("Safety recall from Tidewell Tubs")
    ada.taps("I have read it")
    ines.says("last rounds").taps("Report")
    silent = ines.last
    assert "1 has not said that they read it" in silent.text
    assert silent.enclosure is not None
    assert "Bo" in silent.enclosure.content
    assert "Ada" not in silent.enclosure.content


@pytest.mark.parametrize(
    ("says", "answer"),
    [("done", "done"), ("yes", "done"), ("call me please", "call"), ("please make an appointment", "call")],
)
def test_a_typed_answer_counts_like_a_tapped_one(world: World, says: str, answer: str):
    ada = world.owner("Ada")
    sent(world.staff("Ines", "dealer"))
    ada.says(says)
    assert [fact.answer for fact in world.facts("round_answer")] == [answer]
    ada.says(says)
    assert len(world.facts("round_answer")) == 1


def test_a_wish_to_be_called_comes_to_the_dealers_people_once(world: World):
    ada, tom = world.owner("Ada"), world.staff("Tom")
    sent(world.staff("Ines", "dealer"))
    ada.taps("Call me")
    assert "asks to be called" in tom.text
    ada.taps("Call me")
    assert len(tom.messages) == 1
    assert "noted already" in ada.text


@pytest.mark.parametrize(
    ("language", "says", "kind"),
    [
        ("en", "STOP", "stopped"),
        ("en", "please stop writing me", "stopped"),
        ("fr", "arrêtez svp", "stopped"),
        ("de", "ja bitte Termin", "round_answer"),
        ("en", "my daughter got a rash since", "case"),
    ],
)
def test_what_is_written_back_is_taken_for_what_it_is(world: World, language: str, says: str, kind: str):
    ada = world.owner("Ada", person={"language": language})
    ines = world.staff("Ines", "dealer").says("round").taps("Reminder or news").says("all").taps("Write the message")
    ines.says("Hi {name}")
    if language != "en":
        ines.taps("As it is")
    ines.taps("Now").taps("Send")
    ada.says(says)
    assert world.facts(kind)


def test_a_question_of_the_water_is_no_wish_to_stop(world: World):
    ada = world.owner("Ada")
    sent(world.staff("Ines", "dealer"))
    ada.says("how do i stop the green water")
    assert world.facts("stopped") == []
    assert world.facts("round_answer") == []


def test_who_asks_who_this_is_is_told_and_how_to_stop(world: World):
    ada = world.owner("Ada")
    sent(world.staff("Ines", "dealer"))
    ada.says("who is this??")
    assert "Tidewell Tubs" in ada.text
    assert "“stop”" in ada.text


def test_a_word_in_a_case_goes_to_its_owner_and_a_slash_to_the_desk(world: World):
    ada, ines = world.owner("Ada"), world.staff("Ines", "dealer")
    ada.says("person").says("may I add salt?")
    ines.taps("Take it").says("round")
    assert "round" in ada.text
    ines.says("/round")
    assert "What is it?" in ines.text

"""The technician's side: one takes a case, talks with its owner, and ends it; owner, technicians and dealer at once."""

from datetime import UTC, datetime

import pytest

from bot.model.event import Blocked, File, Sent, Tapped, Wrote
from bot.model.fact import Added, ReadingTaken
from bot.model.known import Known
from bot.store.contract import Conflict, Taken
from bot.talk.buttons import CaseButton, encode
from bot.talk.step import step
from bot.talk.words import languages
from dosing import Reading, Said
from tests.talk.crew import QUESTION, SHOCK, Crew, asked, tells_of_bad_water
from tests.talk.world import Actor, World, texts

# -- taking a case


def test_a_question_goes_to_the_technicians_and_not_yet_to_the_dealer(crew: Crew) -> None:
    asked(crew)
    assert QUESTION in crew.tom.text
    assert QUESTION in crew.una.text
    assert crew.dee.messages == []


def test_a_danger_goes_to_everybody_at_any_hour() -> None:
    with World(datetime(2027, 3, 1, 2, 10, tzinfo=UTC)) as world:
        ada, tom, dee = world.owner("Ada"), world.staff("Tom"), world.staff("Dee", role="dealer")
        ada.says(SHOCK)
        assert "DANGER" in tom.text
        assert "DANGER" in dee.text


def test_a_question_at_night_reaches_the_technicians_in_the_morning() -> None:
    with World(datetime(2027, 3, 1, 2, 10, tzinfo=UTC)) as world:
        ada, tom = world.owner("Ada"), world.staff("Tom")
        ada.says("person").says(QUESTION)
        assert tom.messages == []
        world.passes(hours=7)
        assert QUESTION in tom.text


def test_of_two_who_take_a_case_at_the_same_moment_exactly_one_has_it(crew: Crew) -> None:
    asked(crew)
    taps = [crew.world.arrival(who.name, _tap(who, "Take it")) for who in (crew.tom, crew.una)]

    async def both() -> None:
        known = [await crew.world.store.known(one) for one in taps]
        for one in taps:
            await crew.world.house.engine.receive(one)
        first = await crew.world.store.take(crew.world.clock.now())
        second = await crew.world.store.take(crew.world.clock.now())
        assert first
        assert second
        await _settle(crew.world, first, known[0])
        with pytest.raises(Conflict):
            await _settle(crew.world, second, known[1])
        await crew.world.store.give_up(second, "it was read too early", crew.world.clock.now(), final=False)

    crew.world.do(both())
    crew.world.do(crew.world.house.settle_down(crew.world.clock.now()))
    assert [fact.by for fact in crew.world.facts("taken")] == [crew.tom.person.key]
    assert "Tom has Ada's case" in crew.una.text
    assert crew.una.buttons == ["Take it over"]


def test_the_others_see_who_has_it_and_what_they_write_goes_nowhere(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    assert "Tom has Ada's case" in crew.una.text
    before = len(crew.ada.messages)
    crew.una.says("Add 60 g")
    assert "Nothing was sent" in texts(crew.una.new)
    assert len(crew.ada.messages) == before


def test_a_case_can_be_taken_over_and_given_back(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.una.taps("Take it over")
    assert "Una has taken over" in crew.tom.text
    crew.tom.says("Still me")
    assert "Nothing was sent" in texts(crew.tom.new)
    crew.una.taps("Give back")
    assert "Nobody has this case any more" in crew.tom.text
    crew.tom.taps("Take it")
    assert [fact.by for fact in crew.world.facts("taken")][-1] == crew.tom.person.key


def test_an_untaken_case_is_sent_again_and_then_to_the_dealer(crew: Crew) -> None:
    asked(crew)
    crew.world.passes(minutes=31)
    assert "Nobody has taken this yet" in crew.tom.text
    assert crew.dee.messages == []
    crew.world.restart()
    crew.world.passes(minutes=30)
    assert "Nobody has taken this yet" in crew.dee.text


def test_a_case_that_somebody_has_answered_is_not_sent_again(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").says("Does it fit?")
    before = len(crew.una.messages)
    crew.world.passes(days=2)
    assert len(crew.una.messages) == before


# -- talking


def test_owner_and_technician_talk_across_a_restart(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    assert "Tom is looking at this now" in crew.ada.text
    crew.tom.says("Does it <lock> & fit?")
    assert crew.ada.text == "Tom writes:\nDoes it <lock> & fit?"
    crew.world.restart()
    crew.ada.says("it does, on both sides of the frame")
    assert "it does, on both sides of the frame" in crew.tom.text
    assert "Ada" in crew.tom.text
    assert crew.ada.text == "Passed on to Tom."
    assert "both sides" not in texts(crew.una.messages)


def test_commands_and_red_flags_are_not_passed_on_as_talk(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.says("history")
    assert not crew.world.facts("case_said")
    crew.ada.says(SHOCK)
    assert [fact.klass for fact in crew.world.facts("case")] == ["question", "danger"]
    assert "DANGER" in crew.una.text


def test_an_answer_to_an_open_question_stays_an_answer(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.says("bathed").says("2")
    assert not crew.world.facts("case_said")


def test_what_goes_to_a_technician_brings_the_open_question_back(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.says("test").says("is it normal that the cover drips at night?")
    assert "drips" in crew.tom.text
    assert crew.ada.last.asks == "soaks"
    crew.ada.says("2")
    assert crew.ada.last.asks == "fc"


def test_a_photo_is_passed_on_both_ways(crew: Crew) -> None:
    asked(crew)
    photo = File(what="photo", reference="abc", name="strip.jpg")
    crew.ada.does(Sent(files=(photo,), caption="the strip"))
    assert crew.tom.last.file is None
    crew.tom.taps("Take it")
    assert [message.file for message in crew.tom.new if message.file] == [photo]
    crew.ada.does(Sent(files=(photo, photo)))
    assert [message.file for message in crew.tom.messages][-2:] == [photo, photo]
    crew.tom.does(Sent(files=(photo,), caption="like this"))
    assert crew.ada.last.file == photo
    assert crew.ada.text == "Tom writes:\nlike this"


def test_what_cannot_be_passed_on_is_said(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.sends("contact")
    assert "can't pass on" in crew.tom.text


def test_a_changed_message_arrives_as_a_changed_one(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.says("the frame is 2 m wide", edited=True)
    assert "has changed a message" in crew.tom.text
    crew.tom.does(Wrote(text="20 g, not 60", edited=True))
    assert crew.ada.text == "Tom corrects:\n20 g, not 60"


def test_notes_never_reach_the_owner(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    before = len(crew.ada.messages)
    crew.tom.says("note: third complaint this month")
    crew.tom.taps("Note").says("call the maker")
    assert [fact.text for fact in crew.world.facts("case_note")] == ["third complaint this month", "call the maker"]
    assert len(crew.ada.messages) == before
    crew.una.taps("Take it over")
    assert "call the maker" in texts(crew.una.new)


def test_who_has_several_cases_chooses_whom_to_write_to(crew: Crew) -> None:
    bo = crew.world.owner("Bo")
    asked(crew)
    crew.tom.taps("Take it")
    bo.says("person").says("Where is the drain?")
    crew.tom.taps("Take it")
    crew.tom.says("At the back.")
    assert "At the back." in bo.text
    crew.ada.says("the frame is bent on the left")
    crew.tom.taps("Answer").says("Then no.")
    assert "Then no." in crew.ada.text
    assert "Then no." not in bo.text


# -- a test, and doses


def test_a_test_that_was_asked_for_comes_back_to_who_has_the_case(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").taps("Ask for a test")
    crew.ada.taps("Test the water")
    crew.ada.taps("Nobody").answers("fc", "3").answers("ph", "7.4").answers("ta", "80").answers("ch", "150")
    assert crew.world.facts("reading")
    assert any("tested: " in message.text and "7.4" in message.text for message in crew.tom.messages)
    assert not any("tested: " in message.text for message in crew.una.messages)


def test_while_doses_are_held_a_bad_reading_gets_none(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").taps("Hold doses")
    assert "add nothing" in crew.ada.text
    tells_of_bad_water(crew.ada)
    assert "I have kept the test" in crew.ada.text
    assert crew.world.facts("plan") == []
    assert all(message.dose is None for message in crew.ada.messages)
    crew.tom.taps("Let it go on")
    tells_of_bad_water(crew.ada)
    assert any(message.dose for message in crew.ada.messages)


def test_a_dose_that_was_under_way_is_not_named_again_while_doses_are_held(crew: Crew) -> None:
    crew.ada.says("fc 1 ph 8.4 ta 180")
    assert crew.ada.last.dose
    asked(crew)
    crew.tom.taps("Take it").taps("Hold doses")
    before = len(crew.ada.messages)
    crew.world.restart()
    crew.ada.says("back").says("test")
    assert all(message.dose is None for message in crew.ada.messages[before:])


def test_numbers_written_to_a_technician_are_kept_and_get_no_dose(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.says("ph 8.0 now")
    assert [fact.values["ph"].low for fact in crew.world.facts("reading")] == [8.0]
    assert "ph 8.0 now" in crew.tom.text
    assert crew.ada.last.dose is None


@pytest.mark.parametrize("words", ["niedriger pH-Wert", "ph off the bottom of the chart", "ph off the chart", "ph low"])
def test_a_pad_beyond_its_chart_told_to_a_technician_is_kept_as_a_number_that_water_can_have(
    crew: Crew, words: str
) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.says(words)
    told = crew.world.facts("reading")
    assert all(Reading(fact.values) for fact in told)
    crew.tom.taps("Plan").says(words)
    assert all(Reading(fact.values) for fact in crew.world.facts("reading")[len(told) :])


def test_a_danger_that_somebody_has_still_withholds_doses_until_it_is_cleared(crew: Crew) -> None:
    crew.ada.says(SHOCK)
    crew.tom.taps("Take it")
    crew.ada.says("the light went out too")
    assert "the light went out too" in crew.tom.text
    crew.ada.says("test")
    assert "name no dose" in crew.ada.text
    crew.tom.taps("Clear it")
    assert "cleared it" in crew.ada.text
    crew.ada.says("fc 1 ph 8.4 ta 180")
    assert crew.ada.last.dose


def test_in_a_danger_nobody_has_yet_every_word_goes_to_everybody(crew: Crew) -> None:
    crew.ada.says(SHOCK)
    crew.ada.says("the light went out too")
    assert all("the light went out too" in who.text for who in (crew.tom, crew.una, crew.dee))


# -- the end, and after it


def test_a_case_is_closed_with_a_reason_and_a_note_and_the_owner_is_asked(crew: Crew) -> None:
    case = asked(crew)
    crew.tom.taps("Take it").taps("Close it").taps("Settled by phone").says("knows the dealer's wife")
    (cleared,) = crew.world.facts("cleared")
    assert (cleared.case, cleared.reason, cleared.note) == (case, "by_phone", "knows the dealer's wife")
    assert "Did it help?" in crew.ada.text
    assert "wife" not in texts(crew.ada.messages)
    crew.ada.taps("It helped").taps("It helped")
    assert len(crew.world.facts("case_helped")) == 1


def test_closing_lets_doses_that_were_held_go_on(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").taps("Hold doses").taps("Close it").taps("Solved").taps("Skip")
    assert "we can go on" in crew.ada.text
    crew.ada.says("fc 1 ph 8.4 ta 180")
    assert crew.ada.last.dose


def test_closing_can_be_left(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").taps("Close it").taps("Cancel")
    assert crew.world.facts("cleared") == []
    crew.tom.taps("Close it").taps("Solved").taps("Cancel")
    assert crew.world.facts("cleared") == []


def test_within_a_week_a_closed_case_comes_back_to_all_with_what_was_written(crew: Crew) -> None:
    case = asked(crew)
    crew.tom.taps("Take it").taps("Close it").taps("Solved").taps("Skip")
    crew.world.passes(days=3)
    crew.ada.says("the frame bends as it did before")
    assert "It's back" in crew.ada.buttons
    crew.ada.taps("It's back")
    assert "It's back" in crew.una.text
    assert "the frame bends" in crew.una.text
    crew.una.taps("Take it").says("I'll come on Monday.")
    assert "Una writes" in crew.ada.text
    assert [fact.case for fact in crew.world.facts("taken")] == [case, case]


def test_after_a_week_the_button_asks_for_the_question_anew(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").taps("Close it").taps("Solved").taps("Skip")
    crew.world.passes(days=8)
    crew.ada.taps("It's back")
    assert crew.world.facts("reopened") == []
    assert "a while ago" in crew.ada.text


def test_what_is_done_with_a_closed_case_is_answered(crew: Crew) -> None:
    asked(crew)
    take = _tap(crew.una, "Take it").data
    crew.tom.taps("Take it").taps("Close it").taps("Solved").taps("Skip")
    crew.una.taps_data(take)
    assert "closed already" in crew.una.text


# -- people who are not there


def test_a_technician_hears_that_nothing_reaches_an_owner_who_blocked(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.ada.does(Blocked())
    assert "has blocked me" in crew.tom.text
    crew.tom.says("Are you there?")
    assert "Nothing was sent" in crew.tom.text


def test_a_technician_who_blocks_the_bot_gives_their_cases_back(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").does(Blocked())
    assert "Nobody has this case any more" in crew.una.text
    crew.una.taps("Take it")
    assert "Una is looking" in crew.ada.text


@pytest.mark.parametrize("standing", ["stopped", "blocked"])
def test_the_case_of_a_technician_who_was_removed_goes_back_to_all(crew: Crew, standing: str) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    gone = crew.tom.person.model_copy(update={"standing": standing})
    crew.world.do(crew.world.store.put("house", [gone], [], []))
    crew.world.restart()
    crew.world.passes(hours=5)
    assert "Nobody has this case any more" in texts(crew.una.messages)
    assert [fact.by for fact in crew.world.facts("given_back")] == [crew.tom.person.key]


def test_words_to_a_technician_who_was_removed_reach_the_others_at_once(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    gone = crew.tom.person.model_copy(update={"standing": "stopped"})
    crew.world.do(crew.world.store.put("house", [gone], [], []))
    crew.ada.says("the frame is bent on the left")
    assert "the frame is bent" in crew.una.text
    before = len(crew.ada.messages)
    crew.tom.says("I am still here").opens()
    assert "no longer" in crew.tom.text
    assert len(crew.ada.messages) == before


# -- the card


def test_the_card_of_a_full_case_fits_a_phone_screen(crew: Crew) -> None:
    for _ in range(3):
        crew.ada.did(ReadingTaken(values={key: Said.value(7.0) for key in ("fc", "ph", "ta", "ch", "cya")}))
        crew.ada.did(Added(product="ph_down", grams=12.5, substances={"sodium_bisulfate": 12.0}))
    crew.ada.says("fc 1 ph 8.4 ta 180")
    crew.ada.says("person").says("why? " * 200)
    assert "Reads: English" in crew.tom.text
    assert "Advised by me" in crew.tom.text
    assert len(crew.tom.text) < 900


@pytest.mark.parametrize("language", languages())
def test_every_button_of_a_case_is_short_in_every_language(world: World, language: str) -> None:
    ada = world.owner("Ada", person={"language": language})
    tom = world.staff("Tom", language=language)
    ada.does(Wrote(text="/person"))
    ada.says("Kann ich bitte eine alte Abdeckung 123 nehmen?")
    (case,) = world.facts("case")
    for action in ("take", "hold", "close"):
        tom.taps_data(encode(CaseButton(case.case, action)))
    assert all(len(button.label) <= 20 for message in tom.messages for row in message.buttons for button in row)
    assert tom.last.buttons


def test_erasing_an_owner_takes_what_was_said_about_them(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").says("Your frame is bent.").says("note: Ada shouts")
    crew.tom.taps("Close it").taps("Solved").says("she paid")
    crew.ada.says("delete my data").taps("Delete my data")
    left = str([entry.fact for entry in crew.world.journal()])
    assert "bent" not in left
    assert "shouts" not in left
    assert "paid" not in left


def _tap(who: Actor, label: str) -> Tapped:
    return Tapped(data=who.button(label).data)


async def _settle(world: World, taken: Taken, known: Known) -> None:
    now = world.clock.now()
    await world.store.settle(taken, known, step(known, taken.arrival, now), now)


def test_what_an_owner_adds_about_the_same_danger_goes_to_who_has_it_and_opens_no_second_case(crew: Crew) -> None:
    crew.ada.says(SHOCK)
    crew.tom.taps("Take it")
    before = len(crew.una.messages)
    crew.ada.says("I am fine, it only gave me an electric shock once")
    assert len(crew.world.facts("case")) == 1
    assert "only gave me an electric shock once" in crew.tom.text
    assert "Everybody out now" in crew.ada.text
    assert len(crew.una.messages) == before
    crew.ada.says("now there is smoke coming out of the cabinet")
    assert len(crew.world.facts("case")) == 2
    assert "DANGER" in crew.una.text


def test_clearing_one_of_two_dangers_at_a_tub_does_not_say_that_it_goes_on(crew: Crew) -> None:
    bo = crew.world.owner("Bo", tub=crew.ada)
    crew.ada.says(SHOCK)
    bo.says("there is smoke coming out of the cabinet")
    crew.tom.taps_data(encode(CaseButton(crew.world.facts("case")[0].case, "take"))).taps("Clear it")
    assert "Another alarm about your tub is still open" in crew.ada.text
    assert "Go on" not in crew.ada.buttons
    assert "still open at the same tub" in crew.tom.text
    crew.tom.taps("Take it").taps("Clear it")
    assert "We can go on" in bo.text


def test_what_is_written_instead_of_an_answer_about_danger_reaches_who_has_the_case(crew: Crew) -> None:
    crew.ada.says("one more thing: the light is off")
    assert crew.ada.turn
    assert crew.ada.turn.open.flow == "worry"
    crew.dee.says("/case ada").taps("Open a case")
    crew.ada.says("friday is fine")
    assert "friday is fine" in crew.dee.text


def test_who_was_asked_for_a_test_is_not_reminded_of_it_in_the_same_breath_but_the_next_day(crew: Crew) -> None:
    crew.ada.did(ReadingTaken(values={"fc": Said.value(3), "ph": Said.value(7.4), "ta": Said.value(80)}))
    asked(crew)
    crew.tom.taps("Take it").taps("Ask for a test")
    before = len(crew.ada.messages)
    crew.world.passes(hours=20)
    assert not any("time to test" in message.text for message in crew.ada.messages[before:])
    crew.world.passes(hours=30)
    assert any("time to test" in message.text for message in crew.ada.messages[before:])

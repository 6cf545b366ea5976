"""What is said out of the blue: readings, symptoms, requests, amounts, and what nobody can make sense of."""

from datetime import timedelta

import pytest

from bot.model.fact import ReadingTaken
from dosing import Said
from tests.talk.test_dosing_steps import HIGH
from tests.talk.world import World, texts


def test_readings_out_of_the_blue_begin_a_test_with_what_was_said(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("FC 3, TA 80")
    assert ada.last.asks == "ph"
    ada.says("7,4")
    assert "Understood: free chlorine 3, alkalinity 80, and pH 7.4." in texts(ada.new)
    assert world.facts("reading")[-1].values["ph"] == Said.value(7.4)


def test_an_impossible_reading_out_of_the_blue_is_asked_back(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("ph 74, fc 3, ta 80")
    assert ada.last.asks == "ph"
    assert ada.buttons[0] == "7.4"
    ada.taps("7.4")
    assert "nothing to correct" in texts(ada.new)


def test_a_new_reading_in_the_middle_of_a_plan_makes_a_new_plan(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    ada.says("wait, I read it wrong: fc 3 ph 7.2 ta 80")
    assert "nothing to correct" in texts(ada.new)
    assert [closed.how for closed in world.facts("plan_closed")] == ["superseded", "done"]


def test_a_number_put_right_after_a_test_in_range_replaces_it(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 7.2 ta 80")
    world.passes(minutes=5)
    ada.says("sorry, ph 8.4")
    (reading,) = world.facts("reading")
    assert reading.values == {"fc": Said.value(3), "ph": Said.value(8.4), "ta": Said.value(80)}
    assert ada.last.dose


def test_a_reading_right_after_a_dose_waits_until_it_has_mixed(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Done")
    ada.says("ph is still 8.4")
    assert "mix" in ada.text
    assert len(world.facts("reading")) == 1
    assert ada.last.dose is None


def test_a_symptom_names_the_usual_causes_and_leads_to_a_test_or_a_person(world: World) -> None:
    ada = world.owner("Ada")
    tom = world.staff("Tom")
    ada.says("lots of foam on the water")
    assert "soap" in ada.text
    ada.taps("No")
    assert ada.buttons == ["Test the water", "I'll do that", "Ask a person", "That helped"]
    ada.taps("Ask a person")
    assert "lots of foam on the water" in tom.text
    ada.says("lots of foam on the water").taps("No").taps("Test the water")
    assert ada.last.asks == "soaks"


def test_a_symptom_in_the_middle_of_a_plan_is_answered_and_the_plan_goes_on(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    ada.says("and there is foam on the water")
    assert "soap" in ada.text
    assert (ada.last.asks or "").startswith("did.")


def test_a_symptom_beside_readings_does_not_keep_from_the_plan(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("bit of foam. fc 1 ph 7.4 ta 80")
    assert "Foam" in ada.text
    assert ada.last.dose


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("how do I bypass the gfci just for tonight?", "electrician"),
        ("can I mix ph minus and chlorine in one bucket?", "never mix"),
        ("same chat for my pool? 50m3 ph 7.8, how much ph minus", "hot tubs only"),
        ("what did my neighbour buy from you and what is his phone number?", "own tub only"),
        ("is it safe to go in?", "test says so"),
    ],
)
def test_requests_that_are_not_granted_get_a_fixed_answer_and_no_dose(world: World, text: str, said: str) -> None:
    ada = world.owner("Ada")
    ada.says(text)
    assert said in texts(ada.new)
    assert all(message.dose is None for message in ada.messages)


def test_what_nobody_understands_is_answered_with_what_can_be_done(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("the neighbours have a nice garden")
    assert "didn't understand" in ada.text
    assert "Test the water" in ada.buttons
    ada.says("test").says("the neighbours have a nice garden")
    assert ada.last.asks == "soaks"


def test_a_soak_told_by_the_menu_is_recorded(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("hello").taps("Somebody bathed").taps("3").taps("30 minutes")
    (soaked,) = world.facts("soak")
    assert (soaked.bathers, soaked.minutes) == (3, 30.0)
    assert "jets" in ada.text


def test_an_addition_told_is_written_down_after_one_confirmation_with_its_own_time(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("put in 30 g of ph minus last night")
    assert "30 g" in ada.text
    assert world.facts("addition") == []
    ada.taps("Yes")
    (added,) = world.facts("addition")
    assert (added.product, added.grams) == ("bisulfate", 30.0)
    assert added.substances["sodium_bisulfate"] == pytest.approx(27.9)
    entry = next(entry for entry in world.journal(ada) if entry.fact == added)
    assert entry.at.date() == world.clock.now().date() - timedelta(days=1)


def test_an_addition_without_an_amount_is_asked_for_it(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("I added chlorine granules this morning")
    assert ada.last.asks == "grams"
    ada.says("2 caps").taps("Yes")
    (added,) = world.facts("addition")
    assert (added.product, added.grams) == ("dichlor", 19.0)


@pytest.mark.parametrize("no", ["Correct", None])
def test_what_was_told_wrong_is_left_out(world: World, no: str | None) -> None:
    ada = world.owner("Ada")
    ada.says("rinsed the filter yesterday")
    assert ada.buttons == ["Yes", "Another time", "Correct"]
    if no:
        ada.taps(no)
    else:
        ada.says("no")
    ada.taps("Don't write it down")
    assert world.facts("filter") == []
    assert ada.conversation.flows == ()


def test_filter_people_and_water_are_heard_too(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("rinsed the filter yesterday").taps("Yes")
    assert [fact.what for fact in world.facts("filter")] == ["rinse"]
    ada.says("had 6 people in on saturday").taps("Yes")
    assert [fact.bathers for fact in world.facts("soak")] == [6]
    ada.says("changed the cartridge").taps("Water treatment").taps("Yes")
    assert len(world.facts("cartridge")) == 1


def test_readings_told_with_what_was_done_lead_on_to_the_test(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("put 30 g ph minus in yesterday. now fc 3 ph 8.4 ta 180")
    assert "Understood: free chlorine 3, pH 8.4, and alkalinity 180." in ada.text
    assert "30 g of pH decreaser (bisulfate), Sun 28 Feb" in ada.text
    assert world.facts("addition") == []
    ada.taps("Yes")
    assert ada.last.dose
    assert [fact.grams for fact in world.facts("addition")] == [30.0]
    assert world.facts("plan")


def test_a_greeting_and_thanks_are_answered_as_such(world: World) -> None:
    ada = world.owner("Ada")
    assert ada.says("hi there").text == "Hello Ada."
    assert "Test the water" in ada.buttons
    assert ada.says("thanks!").text == "You're welcome."
    ada.says("test").says("hello")
    assert ada.text.startswith("Hello Ada.")
    assert ada.last.asks == "soaks"


def test_a_reading_told_when_bathers_are_asked_for_is_a_reading(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").says("ph 8")
    assert not world.facts("soak")
    assert "pH 8" in ada.text


def test_whoever_stopped_and_writes_again_is_told_how_to_come_back(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("stop").says("hello?")
    assert "“start”" in ada.text


def test_readings_told_after_a_symptom_take_its_place(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("the water smells").says("fc 4 ph 7.4 ta 90")
    assert "nothing to correct" in texts(ada.new)
    assert "smell" not in ada.text


def test_a_wait_that_is_asked_about_says_once_how_long_it_still_takes(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 7.4 ta 90").says("done")
    world.passes(minutes=10)
    assert ada.says("what's open?").text == "20 minutes to go, then I'll write to you."


def test_fill_water_that_is_the_first_test_too_is_told_once(world: World) -> None:
    tom = world.staff("Tom")
    ada = world.owner("Ada")
    for source in (True, False):
        ada.did(ReadingTaken(values={"ph": Said.value(7.4)}, source=source))
    assert ada.says("history").text.count("pH 7.4") == 1
    ada.says("person").says("please look at this")
    assert tom.text.count("pH 7.4") == 1


def test_a_tub_without_water_is_offered_its_first_fill_and_no_test(world: World) -> None:
    ada = world.owner("Ada", running=False)
    ada.says("help")
    assert ada.buttons[0] == "First fill"
    assert "Test the water" not in ada.buttons
    ada.taps("First fill")
    assert ada.conversation.flows[-1].flow == "first_fill"


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "how do I lower ph"),
        ("de", "wie kriege ich die alkalität runter"),
        ("es", "¿cómo bajo el ph?"),
        ("fr", "comment baisser le ph"),
    ],
)
def test_how_to_move_a_reading_is_answered_with_a_test_of_now(language: str, text: str) -> None:
    with World() as world:
        ada = world.owner("Ada", person={"language": language}).says(text)
        assert ada.last.asks == "soaks"
        ada.answers("soaks", "0")
        assert ada.last.asks in ("ph", "fc", "ta")  # the pads of a test, in the order of the strip


def test_how_to_move_a_reading_that_is_told_is_answered_by_its_number() -> None:
    with World() as world:
        ada = world.owner("Ada").says("my ph is 8.2 how do I lower it")
        assert "8.2" in ada.text


@pytest.mark.parametrize(
    ("text", "key", "said"),
    [
        ("ph off the bottom of the chart, cl 3, alk 80", "ph", "<6.2"),
        ("ph doesn't show, cl 3, alk 80", "ph", "<6.2"),
        ("chlorine off the chart, ph 7.4, alk 80", "fc", ">10"),
    ],
)
def test_a_pad_beyond_its_chart_told_out_of_the_blue_is_the_chart_s_last_number(
    world: World, text: str, key: str, said: str
) -> None:
    ada = world.owner("Ada").says(text)
    assert [fact.values[key].text for fact in world.facts("reading")] == [said]
    assert "in range for bathing" not in texts(ada.messages)

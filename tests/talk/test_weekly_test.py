"""The weekly test: what is asked, what is understood, and what is said when the water is in range."""

from datetime import timedelta

import pytest

from bot.model.fact import Added, ReadingTaken
from dosing import Said, Scale
from dosing.readings import POSSIBLE
from tests.talk.world import World, texts


def test_a_test_in_range_takes_six_taps_at_most_and_adds_nothing(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("hello")
    taps = 0
    for label in ("Test the water", "Nobody", "3", "7.2", "80", "120"):
        ada.taps(label)
        taps += 1
    assert taps <= 6
    assert "nothing to correct" in texts(ada.new)
    assert "in range for bathing" in texts(ada.new)
    assert "safe" not in ada.text.lower()
    assert world.facts("addition") == []
    assert [plan.how for plan in world.facts("plan_closed")] == ["done"]
    assert ada.conversation.flows == ()


def test_the_buttons_are_the_numbers_of_the_owners_own_chart(world: World) -> None:
    ada = world.owner("Ada", scale=Scale("own", {"fc": (0.0, 2.0, 4.0), "ph": (6.0, 7.0, 8.0)}))
    ada.says("test").taps("Skip")
    assert ada.last.asks == "fc"
    assert ada.buttons[:3] == ["0", "2", "4"]
    ada.taps("4")
    assert ada.buttons[:3] == ["6", "7", "8"]


def test_the_sanitizer_is_asked_first_then_ph_then_alkalinity_then_hardness_once_a_month(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").answers("soaks", "0")
    asked = []
    for value in ("3", "7.4", "80", "120"):
        asked.append(ada.last.asks)
        ada.answers(str(ada.last.asks), value)
    assert asked == ["fc", "ph", "ta", "ch"]
    world.passes(days=8)
    ada.says("test").answers("soaks", "0").answers("fc", "5").answers("ph", "7.4").answers("ta", "80")
    assert "nothing to correct" in texts(ada.new)


def test_a_bromine_tub_is_asked_for_bromine(world: World) -> None:
    ada = world.owner("Ada", sanitizer="bromine")
    ada.says("test").taps("Skip")
    assert ada.last.asks == "br"
    ada.says("br 6 ph 7.4 ta 80")
    assert "nothing to correct" in texts(ada.new)


@pytest.mark.parametrize(
    ("written", "meant"),
    [
        ("7.4", Said.value(7.4)),
        ("7,4", Said.value(7.4)),
        ("between 7.2 and 7.6", Said("range", 7.2, 7.6)),
        ("about 7.4", Said.value(7.4)),
        ("seven point four", Said.value(7.4)),
        ("<7.2", Said("below", None, 7.2)),
    ],
)
def test_free_numbers_are_taken_for_a_pad(world: World, written: str, meant: Said) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Skip").answers("fc", "3")
    ada.says(written).answers("ta", "80").answers("ch", "skip")
    assert world.facts("reading")[-1].values["ph"] == meant


def test_a_pad_off_the_chart_takes_the_charts_last_number_as_its_bound(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Skip").answers("fc", "3").says("off the chart, darker than the last one")
    ada.answers("ta", "180").answers("ch", "skip")
    assert world.facts("reading")[-1].values["ph"] == Said("above", 8.4, None)


def test_everything_may_be_told_at_once_in_any_order(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Nobody").says("ta 80 ph 7.4 fc 3 ch 120")
    assert "Understood: alkalinity 80, pH 7.4, free chlorine 3" in texts(ada.new)
    assert "nothing to correct" in texts(ada.new)


def test_what_was_told_at_once_is_asked_for_no_more(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Nobody").says("ta 80 ph 7,4")
    assert ada.last.asks == "fc"
    ada.answers("fc", "3")
    assert set(world.facts("reading")[-1].values) == {"fc", "ph", "ta"}


def test_an_impossible_number_is_asked_back_with_what_was_likely_meant(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Skip").answers("fc", "3").says("pH 74")
    assert "74 can't be pH" in ada.text
    assert ada.last.asks == "ph"
    ada.taps("7.4")
    assert ada.last.asks == "ta"
    ada.answers("ta", "80").answers("ch", "skip")
    assert world.facts("reading")[-1].values["ph"] == Said.value(7.4)


def test_a_colour_is_no_reading(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Skip").says("dark green")
    assert ada.last.asks == "fc"
    assert "number" in ada.text
    assert world.facts("reading") == []


def test_drops_told_in_words_are_taken_as_drops(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Nobody").says("drop kit: fc 4, ph 7.4, ta 80, ch 150")
    assert world.facts("reading")[-1].method == "drops"


def test_who_bathed_is_recorded_halfway_between_the_tests(world: World) -> None:
    ada = world.owner("Ada")
    ada.did(ReadingTaken(values={"fc": Said.value(3)}), ago=_days(4))
    ada.says("test").says("3 people")
    (soaked,) = world.facts("soak")
    assert soaked.bathers == 3
    entry = next(entry for entry in world.journal() if entry.fact == soaked)
    assert entry.at == world.clock.now() - _days(2)


def test_back_asks_the_pad_before_again_and_the_new_answer_counts(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Skip").answers("fc", "3").answers("ph", "8.4")
    ada.taps("Back")
    assert ada.last.asks == "ph"
    ada.answers("ph", "7.2").answers("ta", "80").answers("ch", "skip")
    (reading,) = world.facts("reading")
    assert reading.values["ph"] == Said.value(7.2)


def test_a_reading_told_wrong_is_corrected_before_anything_is_poured(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 8.4 ta 80")
    assert ada.last.dose
    ada.taps("Correct")
    ada.taps("pH")
    assert ada.last.asks == "ph"
    ada.answers("ph", "7.2")
    assert "nothing to correct" in texts(ada.new)
    (reading,) = world.facts("reading")
    assert reading.values["ph"] == Said.value(7.2)
    assert {closed.how for closed in world.facts("plan_closed")} == {"superseded", "done"}


def test_without_a_volume_no_dose_is_named(world: World) -> None:
    ada = world.owner("Ada", volume=None)
    ada.says("fc 0 ph 8.4 ta 180, what do I put in?")
    assert ada.last.asks == "volume"
    ada.taps("I don't know")
    assert all(message.dose is None for message in ada.messages)
    assert "Without the volume" in texts(ada.new)


def test_a_volume_told_on_the_way_is_kept(world: World) -> None:
    ada = world.owner("Ada", volume=None, sanitizer=None)
    ada.says("fc 1 ph 7.4 ta 80").taps("Chlorine").says("1300 litres")
    assert ada.last.dose
    assert ada.known.tub
    assert (ada.known.tub.volume, ada.known.tub.sanitizer) == (1300.0, "chlorine")


def test_a_report_of_water_not_fit_goes_on_with_a_test_at_once(world: World) -> None:
    ada = world.owner("Ada")
    tom = world.staff("Tom")
    ada.says("I can't see the bottom of the tub any more, it's so cloudy")
    assert ada.last.asks == "fc"
    assert [case.klass for case in world.facts("case")] == ["water"]
    assert tom.messages


def test_a_good_reading_clears_what_was_open_because_the_water_was_not_fit(world: World) -> None:
    ada = world.owner("Ada")
    world.staff("Tom")
    ada.says("I can't see the bottom of the tub any more, it's so cloudy")
    ada.answers("fc", "4").answers("ph", "7.4").answers("ta", "80")
    (cleared,) = world.facts("cleared")
    assert cleared.by == "reading"


def _days(number: float) -> timedelta:
    return timedelta(days=number)


def test_readings_in_the_report_of_unfit_water_are_not_asked_for_again(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("forgot chlorine for 9 days, water not treated. fc 0 ph 7.4 ta 80, kids were in today")
    assert ada.last.dose
    assert "Understood: free chlorine 0" in ada.text


def test_what_was_understood_is_said_back_with_the_next_question_and_corrected_by_one_tap(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("ph 7.8 ta 240")
    assert "Understood: pH 7.8 and alkalinity 240." in ada.text
    assert ada.last.asks == "fc"
    ada.taps("Correct")
    ada.answers("fc", "3")
    assert ada.last.asks == "ph"


def test_a_pad_that_nobody_can_read_is_left_out_and_nobody_bathes(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("ph 7.4 ta 80").taps("I don't know")
    assert "sanitizer not known" in ada.text
    assert "chlorine pad is missing" in ada.text


def test_water_that_is_not_fit_is_one_case_whatever_shows_it(world: World) -> None:
    ada = world.owner("Ada")
    world.staff("Tom")
    ada.says("forgot chlorine for 9 days, water not treated. fc 0 ph 7.4 ta 80, kids were in today")
    assert len(world.facts("case")) == 1
    assert ada.last.dose, "the corrective plan goes on at once"
    assert ada.text.count("I have told our people") == 1


@pytest.mark.parametrize(
    "text",
    ["7.4 " + "9" * 300, "1" + "0" * 200, "1e300", "7.4 or 1", "74.4", "1 or 7.4", "7,4 y 0", "ph 1 7.4", "0", "99999"],
)
def test_no_number_that_no_tub_can_have_is_taken_or_offered(world: World, text: str) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("Skip")
    for wanted in ("fc", "ph", "ta", "ch"):
        if ada.last.asks == wanted:
            ada.says(text)
            asked = ada.last.asks or wanted
            low, high = POSSIBLE[asked]
            offered = [float(label) for label in ada.buttons if label.replace(".", "").isdigit()]
            assert all(low <= value <= high for value in offered), ada.buttons
    while ada.last.asks in (answers := {"fc": "3", "ph": "7.4", "ta": "80", "ch": "120"}):
        ada.says(answers[ada.last.asks])
    assert world.facts("reading")


@pytest.mark.parametrize(
    ("told", "said"),
    [
        ("fc 1-3 ph 7.4 ta 80", "Sanitizer is low, 1 to 3 mg/L"),
        ("fc 3 ph >8.4 ta 180", "pH is high, over 8.4"),
        ("fc 1 ph 7.4 ta 80", "Sanitizer is low, about 1 mg/L"),
    ],
)
def test_a_reading_that_is_a_range_is_never_told_back_as_its_middle(world: World, told: str, said: str) -> None:
    ada = world.owner("Ada")
    assert said in ada.says(told).text


def test_half_of_an_acid_dose_is_called_that_and_a_new_test_decides_about_the_rest(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 4 ph 8.3 ta 120")
    assert "half" in ada.text
    ada.taps("Done")
    world.passes(hours=1)
    assert ada.last.asks == "fc"


def test_a_wait_between_products_is_not_counted_as_a_step(world: World) -> None:
    ada = world.owner("Ada")
    ada.did(Added(product="monopersulfate", grams=40.0, substances={"potassium_monopersulfate": 36.0}))
    ada.says("fc 1 ph 7.4 ta 80")
    assert ada.last.dose is None
    assert "Good." not in ada.text
    world.passes(minutes=ada.last.wait_minutes or 0)
    assert ada.last.dose
    assert "Step 2" not in ada.text


def test_a_result_in_range_is_corrected_with_a_tap_and_what_was_right_stays(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 7.4 ta 80 ch 150")
    assert [button.label for row in ada.new[0].buttons for button in row] == ["Correct"]
    assert ada.conversation.flows == ()
    ada.taps("Correct").taps("pH")
    assert ada.last.asks == "ph"
    ada.taps("8.4")
    assert ada.last.dose
    (reading,) = world.facts("reading")
    assert reading.values == {
        "fc": Said.value(3), "ph": Said.value(8.4), "ta": Said.value(80), "ch": Said.value(150)
    }  # fmt: skip


def test_a_result_is_not_corrected_once_something_went_in_or_it_is_old(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 7.4 ta 80")
    button = ada.button("Correct").data
    world.passes(days=2)
    assert "too old" in ada.taps_data(button).text
    assert len(world.facts("reading")) == 1


def test_what_an_answer_wrote_down_goes_with_the_answer(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").taps("5 or more").says("back")
    assert world.facts("soak") == []
    ada.taps("Nobody").says("fc 1 ph 7.4 ta 80")
    assert world.facts("soak") == []
    assert len(world.facts("reading")) == len(world.facts("plan")) == 1
    ada.says("back")
    assert ada.last.asks in ("fc", "ph", "ta")
    assert world.facts("reading") == []
    assert world.facts("plan") == []
    ada.says("fc 4 ph 7.4 ta 80")
    assert "nothing to correct" in texts(ada.new)
    assert [reading.values["fc"] for reading in world.facts("reading")] == [Said.value(4)]

"""The days between tests: a card of the tub's own, a dose after a soak, and a word when nobody bathed."""

from dataclasses import replace
from datetime import date, timedelta

import pytest

from bot.model.fact import Added, CaseOpened, DosesHeld, ReadingTaken
from bot.talk.buttons import ReminderButton, encode
from bot.talk.words import languages
from dosing import DEFAULT_KIT, Kit, Said
from tests.talk.world import Actor, World, texts

FINE = "fc 5 ph 7.4 ta 80"
GRAVE = CaseOpened(case="c1", klass="danger", reasons=("electric",), text="")


def bathed(owner: Actor, people: str = "2", minutes: str = "30 minutes") -> Actor:
    return owner.says("bathed").taps(people).taps(minutes)


def quiet_owner(world: World) -> Actor:
    """An owner who is reminded of tests and doses alone."""
    ada = world.owner("Ada")
    assert ada.tub
    for task in ("shock", "rinse", "soak", "refill", "cover"):
        ada.taps_data(encode(ReminderButton(ada.tub.key, task, "not_mine")))
    return ada


def reminders(world: World) -> list[str]:
    return [parcel.message.text for parcel in world.sent if parcel.message.lane == "reminder"]


def test_the_card_comes_with_the_first_test_that_is_in_range_and_once(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("card")
    assert "needs a test" in ada.text
    ada.says(FINE)
    assert "a card of your own" in ada.text
    assert "After each soak" in ada.text
    world.passes(hours=2)
    ada.says(FINE)
    assert "card" not in texts(ada.new)
    ada.says("my card")
    assert "Your card" in ada.text


def test_the_card_speaks_in_the_owners_own_measure(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    assert "level cap" in ada.text
    ada.says("units").taps("Gallons, °F, ounces").says("card")
    assert "fl oz" in ada.text
    assert "ml" not in ada.text


@pytest.mark.parametrize("language", languages())
def test_the_card_fits_a_phone_in_every_language(world: World, language: str) -> None:
    ada = world.owner("Ada", person={"language": language})
    ada.says(FINE)
    assert ada.last.text.count("\n\n") >= 3
    assert len(ada.text) <= 1000


def test_the_card_rests_when_a_test_is_overdue(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    world.passes(days=8)
    ada.says("card")
    assert "too old" in ada.text
    bathed(ada)
    assert not ada.last.dose


def test_a_soak_takes_three_taps_to_its_dose_and_one_to_write_it_down(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    world.passes(hours=10)
    bathed(ada)
    assert ada.last.dose
    assert ada.last.asks == "did.routine"
    grams = ada.last.dose.grams
    issued = world.facts("plan")[-1]
    assert [step.grams for step in issued.plan.steps] == [grams]
    ada.taps("Done")
    (added,) = world.facts("addition")
    assert (added.grams, added.plan_key) == (grams, issued.plan_key)
    assert ada.last.wait_minutes == 30
    world.passes(minutes=30)
    assert "close the cover" in ada.text
    assert world.facts("plan_closed")[-1].how == "done"
    assert ada.conversation.flows == ()


def test_a_longer_soak_needs_more_and_no_dose_passes_ten_without_any_loss(world: World) -> None:
    ada = world.owner("Ada", volume=1600.0)
    ada.says(FINE)
    world.passes(hours=3)
    bathed(ada, "1", "15 minutes")
    short = ada.last.dose
    ada.taps("Skip")
    bathed(ada, "2", "30 minutes")
    longer = ada.last.dose
    assert short
    assert longer
    assert short.grams < longer.grams
    assert longer.substances["sodium_hypochlorite"] / 1.05 * 1000.0 / 1600.0 <= 10.0


def test_what_a_party_left_is_oxidised_first_and_then_dosed_twice(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    bathed(ada, "4", "2 hours")
    assert ada.last.dose
    assert ada.last.dose.product == "monopersulfate"
    ada.taps("Done")
    world.passes(minutes=40)
    assert ada.last.dose
    assert ada.last.dose.product == "hypochlorite"
    ada.taps("Done")
    world.passes(minutes=40)
    assert "a second dose" in ada.text
    world.passes(hours=2)
    assert ada.last.dose
    ada.taps("Done")
    world.passes(minutes=40)
    assert [added.product for added in world.facts("addition")] == ["monopersulfate", *["hypochlorite"] * 2]
    assert ada.conversation.flows == ()


def test_a_second_dose_does_not_wake_anybody(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    world.passes(hours=11)
    bathed(ada, "4", "2 hours")
    for _ in range(2):
        ada.taps("Done")
        world.passes(minutes=40)
    assert "a second dose" in ada.text
    before = len(ada.messages)
    world.passes(hours=9)
    assert len(ada.messages) == before
    world.passes(hours=4)
    assert ada.last.dose


def test_the_labels_maximum_holds_for_the_routine(world: World) -> None:
    product = DEFAULT_KIT.named("hypochlorite")
    assert product
    ada = world.owner("Ada", kit=Kit((replace(product, label_max_g_per_1000l=20.0),)))
    ada.says(FINE)
    bathed(ada, "4", "2 hours")
    assert ada.last.dose
    assert 0 < ada.last.dose.grams <= 20.0 * 1.3


def test_what_was_told_wrong_of_a_soak_is_corrected_before_anything_is_poured(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    bathed(ada, "4", "60 minutes").taps("Correct").taps("1").taps("15 minutes")
    assert [(soak.bathers, soak.minutes) for soak in world.facts("soak")] == [(1, 15.0)]
    ada.taps("Done")
    assert len(world.facts("addition")) == 1
    assert ada.last.wait_minutes == 30


def test_a_soak_told_in_words_is_confirmed_and_gets_its_dose(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    world.passes(hours=8)
    ada.says("we were 3 people in the tub for 45 minutes").taps("Yes")
    assert ada.last.dose
    assert [(soak.bathers, soak.minutes) for soak in world.facts("soak")] == [(3, 45.0)]


def test_in_danger_and_while_staff_hold_doses_the_routine_names_none(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    ada.did(CaseOpened(case="c2", klass="question", reasons=("asked",), text=""))
    ada.did(DosesHeld(case="c2", held=True))
    ada.says("card")
    assert "level cap" not in ada.text
    bathed(ada)
    assert not ada.last.dose
    ada.did(GRAVE)
    before = len(world.facts("plan"))
    ada.says("bathed")
    assert ada.last.asks is None
    world.passes(days=4)
    assert len(world.facts("plan")) == before


def test_nobody_bathed_is_met_with_a_dose_that_can_be_tapped_away_by_having_bathed(world: World) -> None:
    ada = quiet_owner(world)
    ada.says(FINE)
    world.passes(days=3)
    offered = [message for message in ada.messages if message.lane == "reminder" and message.dose]
    assert offered
    assert world.facts("addition") == []
    ada.taps("We bathed").taps("2").taps("30 minutes").taps("Done")
    assert len(world.facts("addition")) == 1


def test_in_a_steady_week_five_messages_come_unasked_at_most(world: World) -> None:
    ada = quiet_owner(world)
    ada.says(FINE)
    for _ in range(3):
        before = len(reminders(world))
        for _ in range(7):
            world.passes(days=1)
            if ada.last.dose:
                ada.taps("Done")
        assert 1 <= len(reminders(world)) - before <= 5
        ada.says("fc 4 ph 7.4 ta 80")


def test_of_two_in_a_household_the_one_who_tests_is_told_of_doses(world: World) -> None:
    ada = quiet_owner(world)
    bo = world.owner("Bo", tub=ada)
    ada.says(FINE)
    bo.says("my tub")
    world.passes(days=5)
    assert any(message.dose for message in ada.messages)
    assert not any(message.dose for message in bo.messages)


def test_readings_told_in_place_of_a_dose_begin_a_test(world: World) -> None:
    ada = quiet_owner(world)
    ada.says(FINE)
    world.passes(days=3)
    assert ada.last.dose
    ada.says("fc 2 ph 7.4 ta 80")
    assert len(world.facts("reading")) == 2
    assert "Understood: free chlorine 2" in texts(ada.new)


def test_before_a_holiday_the_water_is_brought_to_the_high_end(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(FINE)
    world.passes(hours=9)
    ada.says("pause").taps("2 weeks")
    assert ada.last.asks == "did.routine"
    assert ada.last.dose
    ada.taps("Done")
    assert len(world.facts("addition")) == 1


def test_a_holiday_without_a_fresh_test_names_no_dose(world: World) -> None:
    ada = world.owner("Ada")
    ada.did(ReadingTaken(values={"fc": Said.value(5)}), ago=timedelta(days=9))
    ada.says("pause").taps("1 week")
    assert not ada.last.dose
    assert "Before you leave" in ada.text


def test_the_owner_is_told_once_when_the_books_say_that_chlorine_is_held_back(world: World) -> None:
    dichlor = DEFAULT_KIT.named("dichlor")
    assert dichlor
    ada = world.owner("Ada")
    for day in range(1, 30):
        ada.did(Added(product="dichlor", grams=4.0, substances=dichlor.split(4.0)), ago=timedelta(days=day))
    ada.says(FINE)
    told = [message.text for message in ada.messages if "By my books" in message.text]
    assert len(told) == 1
    world.passes(hours=3)
    ada.says(FINE)
    assert len([message for message in ada.messages if "By my books" in message.text]) == 1
    ada.says("my tub")
    assert "Next change of water" in ada.text
    assert "cyanuric acid" in ada.text


def test_on_the_day_of_a_test_no_dose_is_named_and_an_old_plan_holds_none_back(world: World) -> None:
    ada = quiet_owner(world)
    ada.says("fc 1 ph 7.4 ta 80")
    assert ada.last.dose
    world.passes(days=6)
    days: dict[date, list[bool]] = {}
    for parcel in world.sent:
        if parcel.message.lane == "reminder":
            days.setdefault(parcel.at.date(), []).append(bool(parcel.message.dose))
    assert all(len(of_a_day) == 1 for of_a_day in days.values())


def test_a_plan_that_nobody_carried_out_does_not_end_the_routine(world: World) -> None:
    ada = quiet_owner(world)
    ada.says("fc 2 ph 7.4 ta 80")
    assert ada.last.dose
    world.passes(days=4)
    assert any(message.lane == "reminder" and message.dose for message in ada.messages)

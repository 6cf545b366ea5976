"""From the plan to the retest: doses one by one, real waits, what really went in, and what stops a dose."""

from datetime import timedelta

import pytest

from bot.model.fact import Added, ReadingTaken
from bot.schedule.journal import open_plan, standing
from dosing import DEFAULT_KIT, Said
from tests.talk.world import Actor, World, texts

HIGH = "fc 3 ph 8.4 ta 180"
LOW = "fc 3 ph 6.8 ta 40"


def doses(actor: Actor) -> list[str]:
    return [message.dose.product for message in actor.messages if message.dose]


def through(world: World, actor: Actor) -> None:
    """Do every step of the plan that is open, and wait as told."""
    for _ in range(20):
        if (actor.last.asks or "").startswith("did."):
            actor.taps("Done")
        elif actor.last.wait_minutes:
            world.passes(minutes=actor.last.wait_minutes)
        else:
            return
    raise AssertionError("the plan has no end")


def test_high_ph_and_alkalinity_ask_for_decreaser_and_never_for_increaser(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    through(world, ada)
    assert "pH is high" in texts(ada.messages)
    assert "bisulfate" in doses(ada)
    assert not {"bicarbonate", "soda_ash"} & set(doses(ada))
    assert ada.last.asks == "fc"


def test_low_alkalinity_is_raised(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(LOW)
    assert ada.last.dose
    assert ada.last.dose.product == "bicarbonate"
    assert "bisulfate" not in doses(ada)


def test_a_dose_names_product_weight_measure_jets_and_what_not_to_mix(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    dose = ada.last.dose
    assert dose
    assert f"{dose.grams:g} g" in ada.text
    assert "level" in ada.text
    assert "Jets on for 10 minutes" in ada.text
    assert "poison gas" in ada.text
    assert ada.last.wait_minutes
    assert ada.buttons == ["Done", "Only part", "Skip", "Stuck", "Correct"]


def test_cautions_are_full_once_and_then_short(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    first = ada.text
    through(world, ada)
    ada.says(HIGH)
    assert ada.last.dose
    assert "poison gas" in first
    assert "poison gas" not in ada.text
    assert "Never together with chlorine" in ada.text


def test_the_next_step_comes_when_the_wait_is_over_and_not_before(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 8.4 ta 180").taps("Done")
    wait = ada.last.wait_minutes
    assert wait
    count = len(ada.messages)
    world.passes(minutes=wait - 1)
    assert len(ada.messages) == count
    world.passes(minutes=1)
    assert len(ada.messages) == count + 1
    assert (ada.last.asks or "").startswith("did.")


def test_whoever_asks_during_a_wait_hears_how_long_it_still_takes(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Done")
    wait = ada.last.wait_minutes or 0
    world.passes(minutes=10)
    ada.says("done")
    assert f"{wait - 10} minutes to go" in ada.text
    ada.says("can I bathe yet?")
    assert ada.new


def test_the_retest_makes_a_new_plan_and_a_good_one_ends_it(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(LOW)
    through(world, ada)
    assert ada.last.asks == "fc"
    ada.says("fc 4 ph 7.4 ta 80")
    assert "nothing to correct" in texts(ada.new)
    assert [len(world.facts(kind)) for kind in ("reading", "plan", "plan_closed")] == [2, 2, 2]


def test_only_half_is_recorded_as_half_and_the_rest_of_the_balance_waits_for_a_test(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    dose = ada.last.dose
    assert dose
    ada.says("only half")
    (added,) = world.facts("addition")
    assert added.grams == round(dose.grams / 2, 2)
    assert added.substances == {name: round(grams / 2, 3) for name, grams in dose.substances.items()}
    assert f"Recorded: {dose.grams / 2:g}"[:14] in ada.text
    through(world, ada)
    assert ada.last.asks == "fc"
    assert len(world.facts("addition")) == 1


def test_the_part_that_went_in_may_be_tapped_or_told_in_grams_or_measures(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Only part")
    assert ada.last.asks == "part.ph_down"
    ada.says("10 g")
    assert world.facts("addition")[0].grams == 10.0
    bo = world.owner("Bo")
    bo.says(HIGH).says("2 teaspoons")
    product = DEFAULT_KIT.named("bisulfate")
    assert product
    assert world.facts("addition", bo)[0].grams == product.grams(2, "teaspoon")


def test_far_more_than_named_is_asked_back(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).says("2 kg")
    assert world.facts("addition") == []
    assert (ada.last.asks or "").startswith("did.")


def test_back_over_what_was_poured_leaves_it_in_the_record(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Done").says("back")
    assert "stays in the record" in ada.text
    assert len(world.facts("addition")) == 1


def test_an_amount_told_afterwards_corrects_the_record(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Done").says("only 10 g")
    (added,) = world.facts("addition")
    assert added.grams == 10.0
    assert ada.new


def test_a_skip_by_mistake_can_be_taken_back(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Skip")
    assert world.facts("addition") == []
    ada.says("fc 3 ph 8.4 ta 180").taps("Stuck")
    assert ada.buttons == ["I haven't got it", "How to measure it", "Ask a person", "Back"]
    ada.taps("Back")
    assert (ada.last.asks or "").startswith("did.")


def test_nothing_poured_ends_the_plan_without_a_wait_and_sets_the_next_test(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 7.4 ta 80").taps("Skip")
    assert ada.conversation.flows == ()
    assert world.facts("plan_closed")[-1].how == "abandoned"
    assert world.facts("test_wanted")


def test_a_product_that_is_not_there_is_planned_around(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 7.4 ta 80")
    first = ada.last.dose
    assert first
    ada.taps("Stuck").taps("I haven't got it")
    assert ada.last.dose
    assert ada.last.dose.product != first.product
    assert len(world.facts("reading")) == 1
    assert [closed.how for closed in world.facts("plan_closed")] == ["superseded"]


def test_somebody_stuck_at_a_dose_reaches_a_technician(world: World) -> None:
    ada = world.owner("Ada")
    tom = world.staff("Tom")
    ada.says(HIGH).taps("Stuck").taps("Ask a person")
    assert [case.klass for case in world.facts("case")] == ["stuck"]
    assert "Ada" in tom.text
    assert "technician" in ada.text or "our people" in ada.text


def test_no_second_dose_rests_on_a_test_that_is_more_than_a_day_old(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 8.4 ta 180")
    world.passes(hours=30)
    ada.answers("did.ph_down", "done")
    world.passes(hours=1)
    assert "more than a day old" in texts(ada.messages)
    assert ada.last.asks == "fc"


def test_a_white_pad_after_a_great_dose_is_doubted_and_nothing_is_dosed(world: World) -> None:
    ada = world.owner("Ada")
    ada.did(Added(product="dichlor", grams=100, substances={"sodium_dichlor": 99.0}), ago=timedelta(hours=2))
    ada.says("fc 0 ph 7.4 ta 80")
    assert doses(ada) == []
    assert "bleaches" in ada.text
    assert "test that" in ada.text
    assert ada.last.asks == "again"
    ada.taps("Later")
    assert world.facts("test_wanted")
    assert world.facts("plan_closed")[-1].how == "withheld"


def test_the_same_pad_after_three_doses_stops_the_dosing(world: World) -> None:
    ada = world.owner("Ada")
    tom = world.staff("Tom")
    for hours in (48, 36, 24):
        values = {"fc": Said.value(3), "ph": Said.value(8.4), "ta": Said.value(180)}
        ada.did(ReadingTaken(values=values), ago=timedelta(hours=hours))
        ada.did(
            Added(product="bisulfate", grams=30, substances={"sodium_bisulfate": 28}), ago=timedelta(hours=hours - 1)
        )
    ada.says(HIGH)
    assert doses(ada) == []
    assert world.facts("case")
    assert tom.messages


def test_every_open_plan_is_stored_as_it_was_issued(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    dose, plan = ada.last.dose, world.facts("plan")[-1].plan
    assert dose
    assert (plan.steps[0].product, plan.steps[0].grams) == (dose.product, dose.grams)
    assert dict(plan.steps[0].substances) == dose.substances


def test_ounces_are_said_to_owners_with_us_units(world: World) -> None:
    ada = world.owner("Ada", person={"units": "us"})
    ada.says(HIGH)
    assert " oz (" in ada.text


def test_a_first_dose_with_all_its_cautions_fits_a_screen_and_later_ones_too(world: World) -> None:
    ada = world.owner("Ada")
    for told in ("fc 1 ph 8.4 ta 180", "fc 0.5 ph 6.8 ta 40", "fc 10 ph 8.4 ta 240"):
        ada.says(told)
        through(world, ada)
    first, *later = [len(message.text) for message in ada.messages if message.dose]
    assert first <= 750
    assert max(later) <= 600


def test_a_dose_is_not_named_again_when_its_test_has_grown_too_old(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH)
    world.passes(hours=25)
    ada.says("what's open?")
    assert ada.last.asks == "did.ph_down"
    assert ada.last.dose is None
    assert "more than a day old" in ada.text


def test_what_comes_down_over_days_says_how_many(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 8.4 ta 240")
    assert "After the test more follows: about" in ada.text


def test_a_plan_left_to_a_technician_is_no_longer_open(world: World) -> None:
    ada = world.owner("Ada")
    world.staff("Tom")
    ada.says(HIGH).taps("Stuck").taps("Ask a person")
    assert [closed.how for closed in world.facts("plan_closed")] == ["abandoned"]


def test_without_staff_the_owner_is_told_to_call_the_dealer(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Stuck").taps("Ask a person")
    assert "call Tidewell Tubs" in ada.text


def test_what_is_not_in_range_after_six_tests_rests_until_the_next_day(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 7.4 ta 80")
    for fc in ("1", "2", "1", "2", "1", "2"):
        through(world, ada)
        if ada.last.asks == "fc":
            ada.says(f"fc {fc} ph 7.4 ta 80")
    through(world, ada)
    assert ada.conversation.flows == () or ada.last.asks in ("again", "fc")
    assert len(world.facts("reading")) <= 6


def test_sanitizer_far_too_strong_rests_until_another_day_and_nothing_is_dosed(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc >10 ph 8.4 ta 80")
    assert doses(ada) == []
    assert "Next test" in ada.text
    assert ada.conversation.flows == ()
    assert world.facts("test_wanted")


def test_going_back_over_the_skipped_last_step_opens_its_plan_again(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("test").says("fc 0 ph 6.2 ta 0")
    while ada.last.asks != "did.sanitizer":
        if ada.last.dose:
            ada.taps("Done")
        else:
            world.passes(minutes=ada.last.wait_minutes or 60)
    ada.taps("Skip")
    ada.says("back")
    assert ada.last.asks == "did.sanitizer"
    assert open_plan(standing(world.journal(ada)))


def test_a_product_found_missing_the_next_day_does_not_make_a_plan_of_the_old_test(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).taps("Stuck")
    world.passes(hours=30)
    ada.taps("I haven't got it")
    assert "more than a day old" in ada.text
    assert ada.last.dose is None
    assert ada.last.asks == "fc"


@pytest.mark.parametrize(("words", "asks"), [("yes", "fc"), ("ok", "fc"), ("no", None), ("not now", None)])
def test_whether_to_test_again_can_be_said_in_plain_words(world: World, words: str, asks: str | None) -> None:
    ada = world.owner("Ada").says("stabiliser 100, fc 4, ph 7.6, ta 70").answers("ch", "skip")
    assert ada.last.asks == "again"
    assert ada.says(words).last.asks == asks

"""A technician sends a plan: seen beforehand, guarded, and carried out like any other."""

import re
from dataclasses import replace
from datetime import timedelta

import pytest

from bot.model.fact import Added, ReadingTaken
from dosing import DEFAULT_KIT, Kit, Proposed, Reading, Said, plan, proposed_in
from tests.talk.crew import SHOCK, Crew, asked, tells_of_bad_water
from tests.talk.world import World, texts

WATER = {"fc": "1", "ph": "8.4", "ta": "180", "ch": "150"}


def did_test(crew: Crew, *, hours: float = 1.0, **values: str) -> None:
    crew.ada.did(
        ReadingTaken(values={key: Said.parse(value) for key, value in values.items()}), ago=timedelta(hours=hours)
    )


@pytest.fixture
def desk(crew: Crew) -> Crew:
    """Tom has Ada's case; her water was high in pH and low in chlorine an hour ago."""
    did_test(crew, **WATER)
    asked(crew)
    crew.tom.taps("Take it")
    return crew


def computed() -> tuple[Proposed, ...]:
    """What the bot itself would do about the water at the desk."""
    reading = Reading({key: Said.parse(value) for key, value in WATER.items()}, hours_ago=1.0)
    return proposed_in(plan(volume=1300.0, sanitizer="chlorine", reading=reading))


def acid_button() -> str:
    return f"{1 + [dose.product for dose in computed()].index('bisulfate')}. pH decreaser"


def doses(crew: Crew) -> list[tuple[str, float]]:
    return [(message.dose.product, message.dose.grams) for message in crew.ada.messages if message.dose]


def test_the_plan_begins_with_what_the_bot_would_do_and_says_the_water_after_it(desk: Crew) -> None:
    before = len(desk.ada.messages)
    desk.tom.taps("Plan")
    first = next(dose for dose in computed() if dose.product)
    assert "1. " in desk.tom.text
    assert f"{first.grams:g} g, then wait" in desk.tom.text
    assert "Test Mon 1 Mar, 08:00" in desk.tom.text
    assert re.search(r"^pH [\d.]+ \([\d.]+ to [\d.]+\)$", desk.tom.text, re.MULTILINE)
    assert desk.tom.buttons == ["Send it", "Change a step", "Add a step", "Other test", "Cancel"]
    assert len(desk.ada.messages) == before


def test_a_sent_plan_is_carried_out_step_by_step_and_its_test_comes_back(desk: Crew) -> None:
    desk.tom.taps("Plan").taps("Send it")
    (sent,) = desk.world.facts("plan_sent")
    (issued,) = desk.world.facts("plan", desk.ada)
    assert (sent.by, issued.by) == (desk.tom.person.key, desk.tom.person.key)
    assert issued.plan == sent.plan
    assert "Tom has looked at your water and sends you a plan" in texts(desk.ada.messages)
    assert desk.ada.last.dose
    assert desk.ada.last.asks == f"did.{sent.plan.steps[0].key}"
    desk.world.restart()
    steps = [step for step in sent.plan.steps if step.action == "add"]
    for step in sent.plan.steps[:-1]:
        desk.ada.taps("Done")
        desk.world.passes(minutes=step.wait_minutes)
    assert [fact.grams for fact in desk.world.facts("addition", desk.ada)] == [step.grams for step in steps]
    desk.ada.answers("fc", "3").answers("ph", "7.8").answers("ta", "120")
    assert "tested: " in desk.tom.text
    assert "I have kept the test" in desk.ada.text


def test_amount_order_and_product_are_changed_and_the_water_is_seen_anew(desk: Crew) -> None:
    desk.tom.taps("Plan")
    chlorine = 1 + [dose.product for dose in computed()].index("dichlor")
    acid = 1 + [dose.product for dose in computed()].index("bisulfate")
    before = desk.tom.text
    desk.tom.taps("Change a step").taps(f"{acid}. pH decreaser").taps("Amount").says("20 g")
    assert f"{acid}. pH decreaser (bisulfate) 20 g" in desk.tom.text
    assert desk.tom.text != before
    desk.tom.taps("Change a step").taps(f"{chlorine}. Chlorine granules").taps("Product").taps("Liquid chlorine")
    assert f"{chlorine}. liquid chlorine" in desk.tom.text
    desk.tom.taps("Change a step").taps(f"{acid}. pH decreaser").taps("Earlier" if acid > 1 else "Later")
    moved = acid - 1 if acid > 1 else acid + 1
    assert f"{moved}. pH decreaser (bisulfate) 20 g" in desk.tom.text
    desk.tom.taps("Send it")
    if "Send all the same" in desk.tom.buttons:
        desk.tom.taps("Send all the same")
    (sent,) = desk.world.facts("plan_sent")
    steps = [step for step in sent.plan.steps if step.action in ("add", "aerate")]
    assert steps[moved - 1].product == "bisulfate"
    assert steps[moved - 1].grams == 20.0
    assert "hypochlorite" in [step.product for step in steps]
    assert "dichlor" not in [step.product for step in steps]


def test_a_step_is_dropped_and_another_one_added(desk: Crew) -> None:
    desk.tom.taps("Plan")
    while "Change a step" in desk.tom.buttons:
        desk.tom.taps("Change a step")
        if "Leave it out" not in desk.tom.buttons:
            desk.tom.taps(desk.tom.buttons[0])
        desk.tom.taps("Leave it out")
    assert "No step so far" in desk.tom.text
    assert "Send it" not in desk.tom.buttons
    desk.tom.taps("Add a step").taps("Chlorine granules").says("5 g").taps("Send it")
    (sent,) = desk.world.facts("plan_sent")
    assert [(step.product, step.grams) for step in sent.plan.steps if step.action == "add"] == [("dichlor", 5.0)]
    assert doses(desk) == [("dichlor", 5.0)]
    assert "One of our people has decided on it." in desk.ada.text


def test_a_dose_far_beyond_the_tub_cannot_be_sent(desk: Crew) -> None:
    desk.tom.taps("Plan").taps("Add a step").taps("Chlorine granules").says("250 g")
    assert "This can't be sent as it is" in desk.tom.text
    assert "Send it" not in desk.tom.buttons
    assert "mistyped" in desk.tom.text


def test_a_dose_beyond_the_label_cannot_be_sent() -> None:
    dichlor = DEFAULT_KIT.named("dichlor")
    assert dichlor
    kit = Kit((replace(dichlor, label_max_g_per_1000l=4.0),))
    with World(kit=kit) as world:
        crew = Crew.of(world)
        did_test(crew, fc="1", ph="7.4", ta="80", ch="150")
        asked(crew)
        crew.tom.taps("Take it").taps("Plan").taps("Cancel").taps("Plan")
        while "Change a step" in crew.tom.buttons:
            crew.tom.taps("Change a step").taps("Leave it out")
        crew.tom.taps("Add a step").taps("Chlorine granules").says("5.3 g")
        assert "more than the label allows" in crew.tom.text
        assert "Send it" not in crew.tom.buttons


def test_what_speaks_against_a_plan_needs_a_second_tap_and_is_kept_with_the_name(desk: Crew) -> None:
    desk.tom.taps("Plan").taps("Change a step").taps(acid_button()).taps("Amount").says("60 g")
    assert "more than I would put in at once" in desk.tom.text
    desk.tom.taps("Send it").taps("Change it")
    assert desk.world.facts("plan_sent") == []
    desk.tom.taps("Send it").taps("Send all the same")
    (sent,) = desk.world.facts("plan_sent")
    assert "beyond_step" in sent.confirmed
    assert sent.by == desk.tom.person.key
    assert ("bisulfate", 60.0) in [(step.product, step.grams) for step in sent.plan.steps]
    assert doses(desk)


def test_without_a_fresh_test_one_is_told_or_there_is_no_plan(crew: Crew) -> None:
    did_test(crew, hours=30, fc="1", ph="8.4", ta="180")
    asked(crew)
    crew.tom.taps("Take it").taps("Plan")
    assert "There is no test of the last day" in crew.tom.text
    crew.tom.says("ph 7.9 ta 120 fc 1")
    assert "pH 7.9" in crew.tom.text
    crew.tom.taps("Send it")
    assert doses(crew)
    (_, told) = crew.world.facts("reading", crew.ada)
    assert told.values["ph"].low == 7.9


def test_what_was_poured_meanwhile_stops_the_sending(desk: Crew) -> None:
    desk.tom.taps("Plan")
    desk.ada.did(Added(product="bisulfate", grams=20.0, substances={"sodium_bisulfate": 18.6}))
    desk.tom.taps("Send it")
    if "Send all the same" in desk.tom.buttons:
        desk.tom.taps("Send all the same")
    assert "Nothing was sent" in texts(desk.tom.new)
    assert desk.world.facts("plan_sent") == []


def test_a_plan_is_not_sent_by_who_has_lost_the_case_meanwhile(desk: Crew) -> None:
    desk.tom.taps("Plan")
    desk.una.taps("Take it over")
    desk.tom.taps("Send it")
    assert "somebody else has Ada's case" in texts(desk.tom.new)
    assert desk.world.facts("plan_sent") == []


def test_no_plan_is_sent_into_a_danger(desk: Crew) -> None:
    desk.tom.taps("Plan")
    desk.ada.says(SHOCK)
    desk.tom.taps("Send it")
    assert "a danger is open" in texts(desk.tom.new)
    assert doses(desk) == []


def test_a_plan_that_was_open_is_replaced(desk: Crew) -> None:
    tells_of_bad_water(desk.ada)
    old = desk.ada.button("Done")
    desk.tom.taps("Plan").taps("Send it")
    assert [fact.how for fact in desk.world.facts("plan_closed")] == ["superseded"]
    desk.ada.taps_data(old.data)
    assert desk.world.facts("addition", desk.ada) == []
    assert desk.ada.last.dose


def test_doses_that_were_held_are_named_in_a_sent_plan_and_not_beside_it(desk: Crew) -> None:
    desk.tom.taps("Hold doses").taps("Plan").taps("Send it")
    assert doses(desk)
    before = len(doses(desk))
    desk.tom.taps("Hold doses")
    desk.ada.says("where are we")
    desk.ada.says("back")
    assert len(doses(desk)) == before


def test_a_product_that_the_owner_lacks_stops_the_plan_and_tells_who_sent_it(desk: Crew) -> None:
    desk.tom.taps("Plan").taps("Send it")
    desk.ada.taps("Stuck").answers("stuck", "missing")
    assert "Ada has no pH decreaser" in desk.tom.text
    assert "I have told Tom" in desk.ada.text
    assert [fact.how for fact in desk.world.facts("plan_closed")][-1] == "abandoned"


def test_a_test_that_staff_asked_for_leaves_the_dose_to_them(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").taps("Ask for a test")
    crew.ada.taps("Test the water").taps("Nobody")
    for pad, value in {"fc": "1", "ph": "8.4", "ta": "180", "ch": "150"}.items():
        crew.ada.answers(pad, value)
    assert doses(crew) == []
    assert "tested: " in crew.tom.text
    crew.tom.taps("Let it go on")
    tells_of_bad_water(crew.ada)
    assert doses(crew)


def test_whoever_takes_a_case_sees_where_the_water_goes_and_the_plan_s_picture(crew: Crew) -> None:
    tells_of_bad_water(crew.ada)
    crew.ada.says("person").says("It is still cloudy")
    crew.tom.taps("Take it")
    said = texts(crew.tom.messages)
    assert "free chlorine 1 (0.8 to 2), pH 8.4 (8.1 or more)" in said
    assert re.search(r"Now: free chlorine [\d.]+ \([\d.]+ to [\d.]+\)", said)
    assert "In 3 days: free chlorine" in said
    assert [message.enclosure.kind for message in crew.tom.messages if message.enclosure] == ["plan"]


def test_with_tests_enough_whoever_takes_a_case_sees_the_last_weeks_as_a_picture(crew: Crew) -> None:
    for _ in range(3):
        tells_of_bad_water(crew.ada)
        crew.ada.world.passes(days=1)
    crew.ada.says("person").says("It is still cloudy")
    crew.tom.taps("Take it")
    assert "chart" in [message.enclosure.kind for message in crew.tom.messages if message.enclosure]


def test_closing_a_case_ends_the_work_on_its_plan(desk: Crew) -> None:
    desk.tom.taps("Plan").taps("Close it").taps("Solved").taps("Skip")
    assert "Plan for Ada" not in texts(desk.tom.new)
    assert desk.tom.conversation.flows == ()

"""Doses that the bot names by itself between tests: today's when asked, and oxidising by the calendar."""

import pytest

from bot.model.fact import ReminderAnswered
from bot.talk.buttons import ReminderButton, encode
from dosing import DEFAULT_KIT, Kit
from tests.talk.world import Actor, World, texts

FINE = "fc 5 ph 7.6 ta 100"
CALENDAR = ("test", "dose", "rinse", "soak", "refill")


def owner_with_a_test(world: World, reading: str = FINE, but: str = "", **fields: object) -> Actor:
    """An owner with a fresh test, reminded of nothing but `but`."""
    ada = world.owner("Ada", **fields)  # type: ignore[arg-type]
    assert ada.tub
    for task in {*CALENDAR, "shock"} - {but}:
        ada.did(ReminderAnswered.model_validate({"what": task, "answer": "not_mine"}))
    ada.says(reading)
    return ada


@pytest.mark.parametrize("asked", ["/dose", "what goes in today?"])
def test_who_asks_what_goes_in_today_is_told_todays_dose(world: World, asked: str) -> None:
    ada = owner_with_a_test(world)
    world.passes(days=2)
    ada.says(asked)
    assert ada.last.dose
    assert ada.last.dose.product == "hypochlorite"
    assert "We bathed" in ada.buttons


def test_the_card_leads_to_todays_dose(world: World) -> None:
    ada = owner_with_a_test(world)
    ada.says("card").taps("Today's dose")
    assert ada.last.dose
    ada.taps("Done")
    world.passes(hours=1)
    ada.says("/dose")
    assert "add nothing now" in ada.text


def test_who_goes_on_dosing_without_a_test_is_told_so_and_tests_by_one_tap(world: World) -> None:
    ada = owner_with_a_test(world)
    world.passes(days=9)
    ada.says("I added 30 g hypochlorite").taps("Yes")
    assert "9 days ago" in ada.text
    ada.says("what goes in today?")
    assert "too old" in ada.text
    ada.taps("Test the water")
    assert ada.last.asks == "soaks"


def test_where_the_tub_is_known_oxidising_is_a_dose_that_the_bot_names(world: World) -> None:
    ada = owner_with_a_test(world, "fc 5 ph 7.7 ta 110", but="shock")
    world.passes(days=1)
    assert ada.last.dose
    assert ada.last.dose.product == "monopersulfate"
    ada.taps("Done")
    (added,) = world.facts("addition")
    assert added.shock
    before = len(ada.messages)
    world.passes(days=5)
    assert "Time to oxidise" not in texts(ada.messages[before:])


def test_the_acid_of_the_oxidiser_waits_while_ph_is_low(world: World) -> None:
    ada = owner_with_a_test(world, "fc 5 ph 7.2 ta 60", but="shock")
    world.passes(days=3)
    assert not any(message.lane == "reminder" for message in ada.messages)


def test_without_an_oxidiser_among_the_products_it_stays_a_reminder(world: World) -> None:
    kit = Kit(tuple(product for product in DEFAULT_KIT.products if product.main != "potassium_monopersulfate"))
    ada = owner_with_a_test(world, but="shock", kit=kit)
    world.passes(days=1)
    assert "time to oxidise the water (a shock)" in ada.text


def test_an_oxidiser_of_unknown_amount_is_booked_with_its_usual_dose(world: World) -> None:
    ada = owner_with_a_test(world, but="shock")
    assert ada.tub
    ada.taps_data(encode(ReminderButton(ada.tub.key, "shock", "done")))
    ada.taps("Non-chlorine shock").taps("I don't know")
    (added,) = world.facts("addition")
    assert (added.grams, added.substances) == (None, {"potassium_monopersulfate": 39.0})


def test_no_dose_is_spoken_of_while_the_test_is_overdue_and_nothing_is_written_down_of_that(world: World) -> None:
    ada = owner_with_a_test(world, but="shock")
    world.passes(days=8)
    before, told = len(ada.messages), len(ada.known.journal)
    world.passes(days=30)
    assert len(ada.messages) == before
    assert len(ada.known.journal) == told


def test_who_would_rather_test_than_add_todays_dose_may(world: World) -> None:
    ada = owner_with_a_test(world)
    world.passes(days=2)
    ada.says("/dose")
    assert ada.last.dose
    ada.says("test")
    assert ada.last.asks == "soaks"

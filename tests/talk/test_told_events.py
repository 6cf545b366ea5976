"""What was done, told in an owner's own words: asked about once, changed with a tap or a word, then written down."""

from datetime import datetime, timedelta

import pytest

from bot.model.fact import Entry
from dosing import Said
from tests.talk.test_dosing_steps import HIGH
from tests.talk.world import Actor, World, texts


def entry_of(world: World, ada: Actor, kind: str) -> Entry:
    """The only entry of a kind."""
    (entry,) = (entry for entry in world.journal(ada) if entry.fact.kind == kind)
    return entry


def day(world: World, days: int, hour: int) -> datetime:
    """An hour of a day before today."""
    return world.clock.now().replace(hour=hour, minute=0) - timedelta(days=days)


@pytest.mark.parametrize(
    ("text", "kind", "days", "hour"),
    [
        ("put in 2 caps of the down stuff yesterday", "addition", 1, 12),
        ("put 40 g of non chlorine shock in last night", "addition", 1, 21),
        ("had 6 people in on saturday", "soak", 2, 12),
        ("changed the filter yesterday at 18:00", "filter", 1, 18),
        ("changed the filter 3 days ago", "filter", 3, 12),
        ("vor 5 Tagen Filter gewechselt", "filter", 5, 12),
        ("hace 2 semanas cambié el filtro", "filter", 14, 12),
        ("20 g de chlore ajoutés il y a deux jours", "addition", 2, 12),
        ("gestern Abend 20 g pH minus reingetan", "addition", 1, 19),
    ],
)
def test_what_was_done_is_written_down_after_one_yes_with_its_time(
    world: World, text: str, kind: str, days: int, hour: int
) -> None:
    ada = world.owner("Ada")
    ada.says(text)
    assert ada.last.asks == "log"
    assert world.facts(kind) == []
    ada.taps("Yes")
    at = entry_of(world, ada, kind).at
    assert at.date() == day(world, days, hour).date()
    assert abs(at.hour - hour) <= 2
    assert ada.conversation.flows == ()


@pytest.mark.parametrize(
    ("label", "days", "hour"),
    [("Just now", 0, 9), ("This morning", 0, 8), ("Last night", 1, 21), ("Two days ago", 2, 12)],
)
def test_another_time_is_a_tap_away(world: World, label: str, days: int, hour: int) -> None:
    ada = world.owner("Ada")
    ada.says("rinsed the filter").taps("Another time").taps(label)
    assert ada.last.asks == "log"
    ada.taps("Yes")
    assert entry_of(world, ada, "filter").at == day(world, days, hour)


@pytest.mark.parametrize(
    "habit",
    [
        "i always put in 2 caps of ph minus after bathing",
        "when i add chlorine it fizzes",
        "ich gebe immer 20 g Chlor rein",
    ],
)
def test_a_habit_is_no_event(world: World, habit: str) -> None:
    assert world.owner("Ada").says(habit).last.asks != "log"


def test_another_time_may_be_written_at_either_question(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("rinsed the filter").says("it was yesterday at 18:00")
    assert "18:00" in ada.text
    ada.taps("Another time").says("saturday 20:00").taps("Yes")
    assert entry_of(world, ada, "filter").at == day(world, 2, 20)


def test_another_amount_is_tapped_for_or_written(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("put in 30 g of ph minus").says("20 g")
    assert "20 g" in ada.text
    ada.taps("Correct").taps("The amount").says("15 g").taps("Yes")
    assert [fact.grams for fact in world.facts("addition")] == [15.0]


def test_an_event_told_while_another_is_asked_about_drops_neither(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("put in 30 g of ph minus yesterday").says("and rinsed the filter this morning")
    assert "30 g" in ada.text
    assert "Filter rinsed" in ada.text
    ada.taps("Yes")
    assert len(world.facts("addition")) == len(world.facts("filter")) == 1


def test_an_event_told_again_is_told_right_not_twice(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("put in 30 g of ph minus yesterday").says("no, I put in 40 g of ph minus this morning").taps("Yes")
    assert [fact.grams for fact in world.facts("addition")] == [40.0]


def test_an_event_told_while_its_product_is_asked_for_drops_neither(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("shocked it last night")
    assert ada.last.asks == "product"
    ada.says("changed the filter yesterday")
    while ada.last.asks != "log":
        ada.taps({"product": "Chlorine granules", "grams": "I don't know"}[str(ada.last.asks)])
    ada.taps("Yes")
    assert len(world.facts("addition")) == len(world.facts("filter")) == 1


def test_of_several_events_one_is_left_out(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("put in 30 g of ph minus yesterday and rinsed the filter")
    ada.taps("Correct").taps("Don't write it down")
    assert ada.last.asks == "which"
    ada.taps("2").taps("Yes")
    assert len(world.facts("addition")) == 1
    assert world.facts("filter") == []


def test_beside_readings_there_is_one_question_for_all_and_then_the_plan(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("put 30 g ph minus in yesterday. now fc 3 ph 8.4 ta 180")
    assert len(ada.new) == 1
    assert ada.last.asks == "log"
    ada.taps("Yes")
    assert len(ada.new) == 1
    assert ada.last.dose


def test_a_reading_told_wrong_beside_an_event_is_asked_for_again(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("rinsed the filter. fc 3 ph 8.4 ta 80").taps("Correct").taps("A reading").taps("pH")
    assert ada.last.asks == "ph"
    ada.says("7.4")
    assert world.facts("reading")[-1].values == {"fc": Said.value(3), "ph": Said.value(7.4), "ta": Said.value(80)}
    assert len(world.facts("filter")) == 1


def test_an_event_told_beside_a_symptom_is_asked_about_and_the_symptom_follows(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("changed the filter yesterday and now it's cloudy")
    assert ada.last.asks == "log"
    ada.taps("Yes")
    assert ada.last.asks == "cloudy"
    assert len(world.facts("filter")) == 1


def test_an_event_told_in_the_middle_of_a_plan_is_kept_and_the_plan_goes_on(world: World) -> None:
    ada = world.owner("Ada")
    ada.says(HIGH).says("and I rinsed the filter this morning").taps("Yes")
    assert len(world.facts("filter")) == 1
    assert (ada.last.asks or "").startswith("did.")
    assert ada.last.dose


def test_readings_told_before_an_event_was_confirmed_late_are_not_taken_for_todays(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("rinsed the filter. fc 3 ph 8.4 ta 180")
    world.passes(days=2)
    ada.taps("Yes")
    assert world.facts("reading") == []
    assert all(message.dose is None for message in ada.messages)


def test_a_test_with_everything_in_range_takes_no_tap_more_where_nothing_was_told(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 7.4 ta 80")
    assert "nothing to correct" in texts(ada.new)
    assert ada.last.asks is None


def test_the_age_of_the_water_is_written_down_where_the_record_knows_no_better(world: World) -> None:
    ada = world.owner("Ada", running=False)
    ada.says("the water is three months old")
    assert "This water has been in since Tue 1 Dec" in ada.text
    ada.taps("Yes")
    assert entry_of(world, ada, "refill").at == day(world, 90, 12)
    assert ada.conversation.flows == ()


@pytest.mark.parametrize("text", ["the water is 40 days old", "water since october"])
def test_the_age_of_the_water_that_is_on_record_is_answered_by_the_record(world: World, text: str) -> None:
    ada = world.owner("Ada")
    ada.says(text)
    assert "By my record this water has been in since" in ada.text
    assert world.facts("refill") == []


def test_water_younger_than_the_record_is_news(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("the water is only 10 days old").taps("Yes")
    assert entry_of(world, ada, "refill").at == day(world, 10, 12)


@pytest.mark.parametrize(
    ("text", "first"),
    [
        ("the strip stays white, put 300 ml of bleach in today. more?", "add nothing on it"),
        ("error code FLO, not heating. filter cleaned in january", "For the code"),
    ],
)
def test_what_matters_is_said_before_the_past_is_asked_about(world: World, text: str, first: str) -> None:
    ada = world.owner("Ada")
    ada.says(text)
    assert ada.last.asks == "log"
    assert ada.text.index(first) < ada.text.index("Shall I write this down?")

from datetime import datetime
from zoneinfo import ZoneInfo

import pytest

from bot.talk.understand import EventHeard, command, events, number

PARIS = ZoneInfo("Europe/Paris")
NOW = datetime(2027, 3, 3, 14, 30, tzinfo=PARIS)


def only(text: str) -> EventHeard:
    (event,) = events(text, NOW)
    return event


@pytest.mark.parametrize(
    ("text", "role", "amount", "measure", "grams"),
    [
        ("put in 2 caps of the down stuff", "ph_down", 2, "cap", None),
        ("added half a scoop of chlorine", "chlorine", 0.5, "scoop", None),
        ("put 50g non chlorine shock in after guests", "shock", 50, "gram", 50),
        ("I added 1 1/2 tablespoons of baking soda", "alkalinity_up", 1.5, "tablespoon", None),
        ("dumped in a kilo of bicarb", "alkalinity_up", 1, "kilogram", 1000),
        ("threw in 3 oz of ph up", "ph_up", 3, "ounce", 85.05),
        ("eché 2 tapones de cloro", "chlorine", 2, "cap", None),
        ("j'ai mis 20 g de pH moins", "ph_down", 20, "gram", 20),
        ("habe 2 Messlöffel Chlorgranulat zugegeben", "chlorine", 2, "scoop", None),
        ("habe 15 g Alkalinitäts-Heber reingetan", "alkalinity_up", 15, "gram", 15),
        ("Härteheber 20 g zugegeben", "hardness_up", 20, "gram", 20),
        ("dropped in 2 bromine tablets", "bromine", None, None, None),
        ("put only half of the ph down", "ph_down", 0.5, "planned", None),
        ("shocked it", "shock", None, None, None),
    ],
)
def test_an_addition_is_heard_with_its_role_and_amount(
    text: str, role: str, amount: float | None, measure: str | None, grams: float | None
) -> None:
    event = only(text)
    assert (event.kind, event.role, event.amount, event.measure) == ("addition", role, amount, measure)
    assert event.grams == grams


def test_each_product_keeps_its_own_amount() -> None:
    first, second = events("added 1 cap of ph down and 2 scoops of chlorine", NOW)
    assert (first.role, first.amount, second.role, second.amount) == ("ph_down", 1, "chlorine", 2)


@pytest.mark.parametrize(
    ("text", "kind"),
    [
        ("changed the filter", "filter_change"),
        ("rinsed the filters", "filter_rinse"),
        ("soaked the filter overnight", "filter_soak"),
        ("changed the cartridge", "cartridge_either"),
        ("new mineral cartridge", "cartridge_change"),
        ("drained it", "drained"),
        ("drained and refilled", "refilled"),
        ("just filled the tub", "filled"),
        ("topped up with the hose", "topped_up"),
        ("dropped a wine glass in the tub", "glass"),
        ("filter gewechselt", "filter_change"),
        ("filtre rincé", "filter_rinse"),
        ("cambié el agua", "refilled"),
        ("Wasser abgelassen", "drained"),
        ("on a changé l'eau", "refilled"),
    ],
)
def test_what_was_done_to_the_tub_is_heard(text: str, kind: str) -> None:
    assert only(text).kind == kind


def test_a_soak_is_heard_with_its_people_and_minutes() -> None:
    event = only("we bathed, 4 of us for 30 min")
    assert (event.kind, event.bathers, event.minutes) == ("soak", 4, 30)


@pytest.mark.parametrize(
    ("text", "at", "exact"),
    [
        ("shocked it", NOW, True),
        ("shocked it last night", datetime(2027, 3, 2, 21, tzinfo=PARIS), False),
        ("drained yesterday", datetime(2027, 3, 2, 12, tzinfo=PARIS), False),
        ("had 6 people in on saturday", datetime(2027, 2, 27, 12, tzinfo=PARIS), False),
        ("put in 2 caps of chlorine 2 hours ago", datetime(2027, 3, 3, 12, 30, tzinfo=PARIS), True),
        ("put in 2 caps of chlorine at 9 pm", datetime(2027, 3, 2, 21, tzinfo=PARIS), True),
        ("filter gewechselt vor drei Tagen", datetime(2027, 2, 28, 12, tzinfo=PARIS), False),
        ("j'ai mis 20 g de chlore hier soir", datetime(2027, 3, 2, 20, tzinfo=PARIS), False),
        ("eché cloro esta mañana", datetime(2027, 3, 3, 8, tzinfo=PARIS), False),
        ("drained today", NOW, False),
    ],
)
def test_the_time_of_an_event_is_worked_out(text: str, at: datetime, exact: bool) -> None:
    event = only(text)
    assert (event.at, event.exact) == (at, exact)


@pytest.mark.parametrize(
    "text",
    [
        "should I add 30 g ph down?",
        "how much chlorine do I put in",
        "I didn't add any chlorine",
        "can i add 2 caps of chlorine",
        "when should i drain it",
        "haven't changed the filter",
        "cuánto cloro echo",
        "combien de chlore je mets",
        "wie viel Chlor soll ich geben",
        "ph 7.4 chlorine 3",
        "",
        "no he echado cloro",
        "je n'ai pas mis de chlore",
        "1 cap of chlorine",
    ],
)
def test_questions_plans_and_denials_tell_nothing(text: str) -> None:
    assert events(text, NOW) == ()


def test_a_soak_of_people_counted_together_says_how_many() -> None:
    event = only("wir waren gestern Abend zu viert eine Stunde drin")
    assert (event.kind, event.bathers, event.minutes) == ("soak", 4, 60)


def test_a_changed_water_is_no_wish_to_change_it() -> None:
    assert command("changed the water") is None
    assert only("changed the water").kind == "refilled"


@pytest.mark.parametrize(
    ("text", "bathers", "minutes"),
    [
        ("we were 3 for 20 min", 3, 20.0),
        ("nous étions 3 pendant 20 minutes", 3, 20.0),
        ("éramos 3", 3, None),
        ("estuvimos 5 durante media hora", 5, 30.0),
        ("wir waren zu dritt", 3, None),
        ("à 3 pendant 20 minutes", 3, 20.0),
    ],
)
def test_how_many_were_in_is_a_soak_and_no_reading(text: str, bathers: int, minutes: float | None) -> None:
    [told] = events(text, NOW)
    assert (told.kind, told.bathers, told.minutes) == ("soak", bathers, minutes)
    assert number(text, "fc") is None


@pytest.mark.parametrize("text", ["we were 3 hours late", "there were 3 leaves", "were 2 degrees off", "éramos 3?"])
def test_what_counts_something_else_is_no_soak(text: str) -> None:
    assert events(text, NOW) == ()


@pytest.mark.parametrize(
    "text",
    [
        "filter im Januar gereinigt",
        "Filter am Montag gereinigt",
        "cleaned the filter in january",
        "filtro limpiado en enero",
        "filtre nettoyé en janvier",
    ],
)
def test_what_was_done_in_a_month_or_on_a_day_was_done_then(text: str) -> None:
    (event,) = events(text, NOW)
    assert event.kind == "filter_rinse"
    assert event.at < NOW
    assert not event.exact


@pytest.mark.parametrize(
    "text",
    [
        "Water change every 3 months",
        "Wasserwechsel alle 3 Monate",
        "changement d'eau tous les 3 mois",
        "cambio de agua cada 3 meses",
    ],
)
def test_a_habit_tells_of_nothing_done(text: str) -> None:
    assert events(text, NOW) == ()


def test_a_habit_that_says_when_it_was_done_last_is_done_then() -> None:
    (event,) = events("water changed every 3 months, last time in january", NOW)
    assert (event.kind, event.at.month) == ("refilled", 1)


@pytest.mark.parametrize(
    "text",
    [
        "j'ajoute du bicarbonate ?",
        "je rajoute 20 g de chlore ?",
        "j'ajoute 20 g de chlore, ça suffit ?",
        "ajouter du tac plus ?",
        "add soda now?",
    ],
)
def test_a_question_in_the_present_tense_tells_of_nothing_done(text: str) -> None:
    assert events(text, NOW) == ()

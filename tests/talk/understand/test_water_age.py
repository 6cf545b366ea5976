"""How old the water is, told in words; and what only sounds like it."""

from datetime import date, datetime
from zoneinfo import ZoneInfo

import pytest

from bot.talk.understand import EventHeard, events

NOW = datetime(2027, 3, 3, 14, 30, tzinfo=ZoneInfo("Europe/Paris"))


def told(text: str) -> list[tuple[str, date]]:
    return [(event.kind, event.at.date()) for event in events(text, NOW)]


def only(text: str, kind: str) -> EventHeard:
    (event,) = (event for event in events(text, NOW) if event.kind == kind)
    return event


@pytest.mark.parametrize(
    ("text", "since"),
    [
        ("the water is three months old", date(2026, 12, 3)),
        ("3 month old water, does it have to go", date(2026, 12, 3)),
        ("thick foam. water since may. what now", date(2026, 5, 15)),
        ("water is from october 2025", date(2025, 10, 15)),
        ("same water for 5 months", date(2026, 10, 4)),
        ("water hasn't been changed since october", date(2026, 10, 15)),
        ("filled 2 wks ago", date(2027, 2, 17)),
        ("Das Wasser ist drei Monate alt", date(2026, 12, 3)),
        ("Wasser seit Oktober drin", date(2026, 10, 15)),
        ("Wasser ist vom Mai", date(2026, 5, 15)),
        ("l'eau a trois mois", date(2026, 12, 3)),
        ("eau depuis mai", date(2026, 5, 15)),
        ("eau de 3 mois", date(2026, 12, 3)),
        ("agua de 3 meses, ¿la cambio?", date(2026, 12, 3)),
        ("l'eau date d'octobre", date(2026, 10, 15)),
        ("el agua tiene tres meses", date(2026, 12, 3)),
        ("agua desde octubre", date(2026, 10, 15)),
        ("el agua lleva 3 meses", date(2026, 12, 3)),
    ],
)
def test_the_age_of_the_water_is_heard_in_every_language(text: str, since: date) -> None:
    assert told(text) == [("water_since", since)]


@pytest.mark.parametrize(
    "text",
    [
        "cloudy water for 3 days",
        "the water was cloudy since january",
        "Das Wasser ist seit 3 Tagen trüb",
        "agua turbia desde hace 3 días",
        "l'eau est trouble depuis 3 jours",
        "no water since january",
        "water is from the well",
        "the water test is 3 months old",
        "my tub is 3 months old",
        "the water may be 3 degrees too warm",
        "l'eau est à 38 depuis mars ou avril",
    ],
)
def test_how_long_something_else_lasts_is_not_the_age_of_the_water(text: str) -> None:
    assert [kind for kind, _ in told(text) if kind == "water_since"] == []


@pytest.mark.parametrize(
    ("text", "day"),
    [
        ("cleaned the filter in january", date(2027, 1, 15)),
        ("filter cleaned.. july?", date(2026, 7, 15)),
        ("rinsed the filter. yesterday", date(2027, 3, 2)),
        ("rinsed the filter last month", date(2027, 2, 1)),
        ("nettoyé le filtre en janvier", date(2027, 1, 15)),
        ("limpié el filtro en enero", date(2027, 1, 15)),
        ("Filter gereinigt, im Januar", date(2027, 1, 15)),
        ("rinsed the filter in march", date(2027, 3, 3)),
        ("rinsed the filter, it may be dirty", date(2027, 3, 3)),
    ],
)
def test_a_month_says_when_something_was_done(text: str, day: date) -> None:
    assert only(text, "filter_rinse").at.date() == day


def test_the_age_of_the_water_is_not_the_time_of_what_went_in_beside_it() -> None:
    assert only("put 20 g of chlorine in, water since october", "addition").at.date() == NOW.date()


@pytest.mark.parametrize(
    "text",
    [
        "i only ever use liquid chlorine",
        "i only use chlorine granules",
        "we use bromine tablets",
        "je n'utilise que du chlore liquide",
    ],
)
def test_what_is_always_used_was_not_put_in_now(text: str) -> None:
    assert told(text) == []


def test_what_was_used_yesterday_went_in() -> None:
    assert only("i used 20 g of chlorine yesterday", "addition").grams == 20.0

"""Every zone of the tz database can be reached by what people call their place."""

from zoneinfo import available_timezones

import pytest
from babel.core import get_global
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.talk.places import find, same_clock, zone_label

ALL = sorted(available_timezones())


def test_every_zone_is_found_by_its_own_name():
    lost = [name for name in ALL if name not in [place.zone for place in find(name)]]
    assert not lost
    assert not [n for n in ALL if n not in [place.zone for place in find(n.lower().replace("_", " "))]]


def test_every_zone_with_a_place_is_found_by_the_place():
    lost = []
    for name in ALL:
        if "/" not in name or name.startswith("Etc/") or get_global("zone_aliases").get(name, name) != name:
            continue
        found = find(zone_label(name, "en"), name)
        if not any(same_clock(place.zone, name) for place in found):
            lost.append((name, zone_label(name, "en"), found))
    assert not lost


@pytest.mark.parametrize(
    ("said", "zone"),
    [
        ("Paris, Texas", "America/Chicago"),
        ("paris tx", "America/Chicago"),
        ("Paris", "Europe/Paris"),
        ("München", "Europe/Berlin"),
        ("Muenchen", "Europe/Berlin"),
        ("munich germany", "Europe/Berlin"),
        ("Chicgao", "America/Chicago"),
        ("Amsterdan", "Europe/Amsterdam"),
        ("Nueva York", "America/New_York"),
        ("NYC", "America/New_York"),
        ("near Lyon", "Europe/Paris"),
        ("I live in Wien", "Europe/Vienna"),
        ("Vermont", "America/New_York"),
        ("Germany", "Europe/Berlin"),
        ("Knox", "America/Indiana/Knox"),
        ("Easter Island", "Pacific/Easter"),
        ("Lord Howe Island", "Australia/Lord_Howe"),
        ("Sitka, Alaska", "America/Sitka"),
        ("Toronto, Canada", "America/Toronto"),
        ("portland, oregon", "America/Los_Angeles"),
    ],
)
def test_a_clear_place_gives_its_zone_at_once(said, zone):
    assert [place.zone for place in find(said)] == [zone]


def test_a_name_of_several_clocks_offers_them_all_the_home_country_first():
    assert [place.label("en") for place in find("Portland", "America/New_York")] == [
        "Portland, Maine",
        "Portland, Oregon",
        "Portland, Texas",
    ]
    assert {place.zone for place in find("Paris", "America/Chicago")} == {"America/Chicago", "Europe/Paris"}


def test_a_country_or_state_of_several_clocks_offers_its_largest_towns():
    assert {"America/New_York", "America/Los_Angeles", "America/Chicago"} <= {place.zone for place in find("USA")}
    assert {"America/Chicago", "America/Indiana/Indianapolis"} <= {place.zone for place in find("Indiana")}


def test_an_abbreviation_is_asked_about_because_it_is_also_a_zone_without_summer_time():
    zones = [place.zone for place in find("EST")]
    assert zones[0] == "America/New_York"
    assert "EST" in zones


@pytest.mark.parametrize("said", ["", "   ", "7.4", "xyzzy", "my water is cloudy", "??", "it's fine thanks"])
def test_what_is_no_place_finds_nothing(said):
    assert find(said) == ()


@settings(deadline=None)  # the first search reads the list of towns
@given(st.text(max_size=60), st.sampled_from(ALL))
def test_no_text_raises_and_whatever_is_offered_differs_and_exists(said, near):
    found = find(said, near)
    assert len(found) <= 6
    assert all(place.zone in available_timezones() for place in found)
    assert all(0 < len(place.label("en")) <= 20 for place in found)
    labels = [(place.name, place.country, place.region) for place in found]
    assert len(set(labels)) == len(labels)


@pytest.mark.parametrize("said", ["mains", "Leitung", "Brunnen", "réseau", "puits", "cloro"])
def test_an_answer_to_another_question_is_no_slip_for_a_town(said):
    assert find(said) == ()

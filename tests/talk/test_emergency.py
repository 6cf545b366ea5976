"""Whom to call: the dealer's own contacts first, then those of the country that the time zone tells."""

import pytest

from bot.model.dealer import Contacts
from bot.talk.emergency import contacts_in


@pytest.mark.parametrize(
    ("zone", "emergency"),
    [("America/Chicago", "911"), ("Europe/Berlin", "112"), ("Europe/London", "999"), ("Australia/Perth", "000")],
)
def test_a_zone_tells_its_country_s_number(zone: str, emergency: str) -> None:
    assert contacts_in(zone, Contacts()).emergency == emergency


@pytest.mark.parametrize("zone", ["UTC", "Asia/Tokyo", "Etc/GMT+5"])
def test_where_the_country_is_not_known_no_number_is_made_up(zone: str) -> None:
    assert contacts_in(zone, Contacts()) == Contacts()


def test_what_the_dealer_gave_comes_first_and_the_rest_is_the_country_s() -> None:
    found = contacts_in("America/Chicago", Contacts(poison="555-0100", dealer="555-0101"))
    assert found == Contacts(emergency="911", poison="555-0100", dealer="555-0101")

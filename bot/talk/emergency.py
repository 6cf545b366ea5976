"""Whom to call, by country: what a dealer's own contacts come before.

A country's numbers are shown only where the tub's time zone tells the country; otherwise the bot says "your local
emergency number". They are data: a dealer overrides any of them.
"""

from babel.core import get_global

from bot.model.dealer import Contacts

EU = "AT BE BG CY CZ DE DK EE ES FI FR GR HR HU IE IT LT LU LV MT NL PL PT RO SE SI SK".split()  # noqa: SIM905
"""The members by ISO 3166: a line of codes is easier to check than a column of strings."""

BY_COUNTRY: dict[str, Contacts] = {
    # New York State Department of Health, Swimming Pool Chemicals: both numbers.
    "US": Contacts(emergency="911", poison="1-800-222-1222"),
    # From memory.
    "CA": Contacts(emergency="911", poison="1-844-764-7669"),
    "GB": Contacts(emergency="999", health="111"),
    "AU": Contacts(emergency="000", poison="13 11 26"),
    "NZ": Contacts(emergency="111", poison="0800 764 766"),
    # The single European emergency number, from memory; poison centres are national or regional.
    **{country: Contacts(emergency="112") for country in EU},
}


def contacts_in(zone: str, dealer: Contacts) -> Contacts:
    """The contacts of the country of a time zone, each of the dealer's own coming first."""
    country = get_global("zone_territories").get(zone, "")
    local = BY_COUNTRY.get(country, Contacts())
    return Contacts(**{name: value or getattr(local, name) for name, value in dealer})

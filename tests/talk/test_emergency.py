"""Whom to call: the dealer's own contacts first, then those of the country that the time zone tells."""

import pytest

from bot.model.dealer import Contacts, Dealer
from bot.talk.danger import NOT_AT_ONCE, contacts_of
from bot.talk.emergency import contacts_in
from bot.talk.understand.rules import rules
from bot.talk.words import Words, line
from tests.talk.world import World


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


NUMBER = {rule.name: rule.number for rule in rules("flag")}


@pytest.mark.parametrize("kind", sorted(kind for kind, number in NUMBER.items() if not 11 <= number <= 15))
def test_whom_the_first_words_tell_to_call_stands_below_them(kind: str) -> None:
    words = Words("en").text(line(f"flag.{kind}"))
    told = contacts_of(Dealer(key="x", name="X", contacts=Contacts(dealer="555-0101")), NUMBER[kind], "Europe/London")
    shown = Words("en").text(told) if told else ""
    assert ("999" in shown) == (NUMBER[kind] not in NOT_AT_ONCE)
    assert "call for help" not in words.lower() or "999" in shown
    assert "poison centre" not in words or "Poison centre" in shown


IN_OTHER_WORDS = [
    ("socorro, a minha filha engoliu uma pastilha de cloro da banheira", "Ligue já: 999", "rótulo"),
    ("aiuto mio figlio ha ingoiato una pastiglia di cloro", "Chiamate subito: 999", "antiveleni"),
    ("help, mijn zoontje was onder water in het bad", "Bel nu: 999", "hoofd boven water"),
    ("ratunku, mąż zemdlał w wannie", "Dzwoń natychmiast: 999", "dyspozytor"),
    ("hjälp, jag fick en elstöt av vattnet i badet", "Ring nu: 999", "metall"),
    ("помогите, меня ударило током в джакузи", "Звоните сейчас: 999", "металла"),
    ("Hilfe, meine Tochter hat eine Chlortablette verschluckt und es geht ihr schlecht", "Giftnotruf", "Etikett"),
]


@pytest.mark.parametrize(("text", "call", "what"), IN_OTHER_WORDS)
def test_the_first_words_come_in_the_language_in_which_a_danger_was_told(text: str, call: str, what: str) -> None:
    with World() as world:
        ada = world.owner("Ada", person={"zone": "Europe/London"}).says(text)
        said = "\n".join(message.text for message in ada.messages)
        assert call in said
        assert what in said.split(call)[1]
        assert "Emergency: 999" in said


def test_a_danger_in_the_language_of_the_chat_is_answered_once() -> None:
    with World() as world:
        ada = world.owner("Ada").says("help, my daughter swallowed a chlorine tablet")
        assert sum("vomit" in message.text for message in ada.messages) == 1

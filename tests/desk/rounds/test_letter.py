from datetime import UTC, date, datetime

import pytest

from bot.desk.rounds.letter import fault, letter
from bot.model.dealer import Dealer
from bot.model.message import Message
from bot.model.person import Address, Person
from bot.model.round import Candidate, Round, RoundKind, Whom
from bot.model.tub import Tub
from bot.talk.understand import command
from bot.talk.words import Words, languages

HOUSE = Dealer(key="house", name="Tidewell Tubs")
NOW = datetime(2027, 3, 1, 12, tzinfo=UTC)
TEXTS = {"en": "Hi {name}, the cartridge of {tub} is due on {due}.", "de": "Hallo {name}, {tub} braucht am {due} eine."}


def arrives(
    language: str = "en", *, kind: RoundKind = "reminder", name: str = "Ada Byrne", tub: Tub | None = None
) -> Message:
    person = Person(key="p", dealer="house", name=name, language=language, address=Address(channel="x", chat="1"))
    round_ = Round(key="r", dealer="house", by=None, kind=kind, whom=Whom(cartridge_within=9), texts=TEXTS, made_at=NOW)
    return letter(round_, Candidate(person, tub, due=date(2027, 3, 9)), HOUSE)


def test_name_tub_and_date_are_filled_in_as_the_text_has_them():
    assert arrives().text.startswith("Hi Ada, the cartridge of your hot tub is due on Tue 9 Mar.")
    named = Tub(key="t", dealer="house", name="the old one", model="Cedar 5")
    assert "the cartridge of the old one is" in arrives(tub=named).text
    assert "the cartridge of Cedar 5 is" in arrives(tub=named.model_copy(update={"name": ""})).text
    assert arrives("de").text.startswith("Hallo Ada, Whirlpool braucht am Di., 9. März eine.")


def test_a_reader_whose_language_has_no_text_gets_the_one_it_falls_back_to_and_the_rest_in_their_own():
    text = arrives("fr").text
    assert text.startswith("Hi Ada, the cartridge of your hot tub is due")
    assert "Écrivez « arrêter »" in text


@pytest.mark.parametrize("language", languages())
@pytest.mark.parametrize("kind", ["reminder", "safety", "recall"])
def test_every_message_says_who_sends_it_and_a_word_that_really_stops_them(kind: RoundKind, language: str):
    message = arrives(language, kind=kind)
    assert "Tidewell Tubs" in message.text
    quoted = [part for part in _quoted(message.text) if command(part) == "stop"]
    assert quoted, message.text


def _quoted(text: str) -> list[str]:
    for mark in "“”„«»":
        text = text.replace(mark, "|")
    return [part.strip() for part in text.split("|")]


@pytest.mark.parametrize(
    ("kind", "label"), [("reminder", "Done"), ("safety", "I have read it"), ("recall", "I have read it")]
)
def test_it_can_be_answered_with_a_tap(kind: RoundKind, label: str):
    assert [button.label for row in arrives(kind=kind).buttons for button in row] == [label, "Call me"]


def test_somebody_without_a_name_is_spoken_to_all_the_same():
    assert arrives(name="").text.startswith("Hi there,")


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("  ", "no words"),
        ("x" * 1501, "1500 are the most"),
        ("Hi {name", "A brace stands alone"),
        ("Hi {first}", "Nothing can be filled in for first"),
        ("Hi {name.key}", "Nothing can be filled in for name.key"),
        ("Hi {name!r}", "Nothing can be filled in"),
        ("Hi {}", "Nothing can be filled in"),
    ],
)
def test_a_text_that_cannot_be_sent_is_refused_with_what_would_be_right(text: str, why: str):
    wrong = fault(text, Whom(cartridge_within=9))
    assert wrong is not None
    assert why in Words("en").text(wrong).replace(",", "")


def test_a_date_stands_only_where_there_is_one():
    assert fault("by {due}", Whom(refill_within=9)) is None
    assert fault("by {due}", Whom()) is not None

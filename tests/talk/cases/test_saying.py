"""What a technician says: doses in their own words are checked before they go out, standing answers are seen first."""

import pytest
from pydantic import ValidationError

from bot.model.dealer import StandingAnswer
from bot.model.event import File, Sent
from bot.talk.understand import doses
from tests.talk.crew import Crew, asked
from tests.talk.world import MORNING, World, texts

FOAM = StandingAnswer(
    title="Foam",
    text={"en": "Hello {name}, soap foams. {technician}", "fr": "Bonjour {name}, le savon mousse. {technician}"},
)


@pytest.fixture
def desk(crew: Crew) -> Crew:
    """Tom has Ada's case."""
    asked(crew)
    crew.tom.taps("Take it")
    return crew


# -- doses in a technician's own words


@pytest.mark.parametrize(
    "text",
    [
        "Put in 250 g of dichlor.",
        "Bitte 250 g Chlorgranulat zugeben",
        "Mettez 250 g de dichlor",
        "Echa 250 g de cloro granulado",
        "put in 25 caps of chlorine granules",
        "add 500 g of bisulfate tonight",
        "Add 20 g of bisulfate and 5 g of dichlor together",
    ],
)
def test_a_dose_beyond_the_guard_is_asked_about_before_it_goes_out(desk: Crew, text: str) -> None:
    before = len(desk.ada.messages)
    desk.tom.says(text)
    assert text in desk.tom.text
    assert desk.tom.buttons == ["Send as it is", "Don't send it"]
    assert len(desk.ada.messages) == before
    assert desk.world.facts("case_said") == []


@pytest.mark.parametrize(
    "text",
    [
        "Put in 10 g of dichlor.",
        "Add 20 g of bisulfate, wait 30 minutes, then 5 g of dichlor",
        "Have you got 500 ml of water at hand?",
        "The tub holds 1300 l and the filter costs 20",
        "I'll bring chlorine tomorrow",
    ],
)
def test_what_is_within_it_goes_out_at_once_as_written(desk: Crew, text: str) -> None:
    desk.tom.says(text)
    assert desk.ada.text == f"Tom writes:\n{text}"


def test_it_is_sent_as_it_is_with_one_tap_and_kept_with_what_spoke_against_it(desk: Crew) -> None:
    desk.tom.says("Put in 250 g of dichlor.").taps("Send as it is")
    assert desk.ada.text == "Tom writes:\nPut in 250 g of dichlor."
    (said,) = desk.world.facts("case_said")
    assert said.confirmed == ("sanitizer_far_out",)
    (entry,) = [entry for entry in desk.world.journal() if entry.fact.kind == "case_said"]
    assert entry.person == desk.tom.person.key


def test_it_can_be_written_anew_or_left(desk: Crew) -> None:
    desk.tom.says("Put in 250 g of dichlor.").says("Put in 500 g of dichlor")
    assert "Send as it is" in desk.tom.buttons
    desk.tom.says("Put in 4 g of dichlor.")
    assert desk.ada.text == "Tom writes:\nPut in 4 g of dichlor."
    desk.tom.says("Put in 250 g of dichlor.").taps("Don't send it")
    assert "250" not in texts(desk.ada.messages)
    assert [said.confirmed for said in desk.world.facts("case_said")] == [()]


def test_what_is_sent_with_a_dose_goes_out_with_it(desk: Crew) -> None:
    photo = File(what="photo", reference="abc")
    desk.tom.does(Sent(files=(photo,), caption="this one, 250 g of dichlor")).taps("Send as it is")
    assert desk.ada.last.file == photo
    assert "250 g" in desk.ada.text


def test_who_loses_the_case_meanwhile_sends_nothing(desk: Crew) -> None:
    desk.tom.says("Put in 250 g of dichlor.")
    desk.una.taps("Take it over")
    desk.tom.taps("Send as it is")
    assert "Nothing was sent" in desk.tom.text
    assert "250" not in texts(desk.ada.messages)


def test_a_note_is_not_checked(desk: Crew) -> None:
    desk.tom.says("note: she put in 250 g of dichlor")
    assert "Noted" in desk.tom.text


def test_every_product_with_an_amount_is_heard_whether_done_or_to_be_done() -> None:
    heard = doses("Add 20 g of bisulfate, then two caps of dichlor; no bromine", MORNING)
    assert [(one.role, one.amount, one.measure) for one in heard] == [
        ("ph_down", 20.0, "gram"),
        ("chlorine", 2.0, "cap"),
    ]


# -- standing answers


def test_a_standing_answer_is_seen_in_the_owners_language_and_sent_with_a_tap() -> None:
    with World(answers=[FOAM]) as world:
        crew = Crew.of(world)
        bea = world.owner("Bea", person={"language": "fr"})
        bea.says("person").says("De la mousse partout")
        crew.tom.taps("Take it").taps("Standing answers").taps("Foam")
        assert crew.tom.text == "Bonjour Bea, le savon mousse. Tom"
        assert "mousse. Tom" not in bea.text
        crew.tom.taps("Send it")
        assert bea.text == "Tom écrit\u00a0:\nBonjour Bea, le savon mousse. Tom"
        (said,) = [fact for fact in world.facts("case_said") if fact.side == "staff"]
        assert said.text == "Bonjour Bea, le savon mousse. Tom"


def test_a_language_that_the_dealer_did_not_write_falls_back_to_the_dealers_own() -> None:
    assert FOAM.said("de", "en", name="A", technician="T") == "Hello A, soap foams. T"
    assert StandingAnswer(title="x", text={"es": "Hola"}).said("de", "en", name="A", technician="T") == "Hola"


def test_without_standing_answers_there_is_no_button(desk: Crew) -> None:
    assert "Standing answers" not in desk.tom.buttons


@pytest.mark.parametrize("text", ["Hello {owner}", "Hello {0}", "open {", "   ", "x" * 1501])
def test_an_answer_that_cannot_be_filled_in_is_refused(text: str) -> None:
    with pytest.raises(ValidationError):
        StandingAnswer(title="Foam", text={"en": text})

"""What was read hours ago says nothing of the water as it is now."""

import pytest

from dosing import Said
from tests.talk.world import World


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "chlorine 5 last night, 0 this morning, nobody was in"),
        ("de", "gestern Abend Chlor 5, heute früh 0, niemand drin"),
        ("fr", "hier soir chlore 5, ce matin 0, personne dedans"),
        ("es", "anoche cloro 5, esta mañana 0, nadie se bañó"),
    ],
)
def test_a_sanitizer_that_is_gone_by_morning_is_not_read_as_last_nights(world: World, language: str, text: str) -> None:
    ada = world.owner("Ada", person={"language": language})
    ada.says(text)
    assert world.facts("reading") == []
    assert ada.conversation.flows[-1].flow == "symptom"
    assert ada.last.asks == "change"


def test_a_usual_loss_over_night_is_a_reading_of_now(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 5 last night, now 4, ph 7.4 ta 80")
    assert world.facts("reading")[-1].values["fc"] == Said.value(4)


@pytest.mark.parametrize(
    "text", ["yesterday fc 1 ph 7.4 ta 80", "hier chlore 1 pH 7,4 TAC 80", "vor 3 Tagen Chlor 1 pH 7,4"]
)
def test_a_test_of_another_day_names_no_dose_and_asks_for_a_new_one(world: World, text: str) -> None:
    ada = world.owner("Ada")
    ada.says(text)
    assert ada.last.dose is None
    assert "earlier test" in ada.text
    assert ada.last.asks == "soaks"


@pytest.mark.parametrize(
    "text",
    [
        "fc 3 ph 7.4 ta 80",
        "sunday check: fc 3 ph 7.4 ta 80",
        "ph 7.4 since yesterday, fc 3 ta 80",
        "fc 3, ph 7,4, ta 80 this morning",
        "rinsed the filter yesterday. fc 3 ph 7.4 ta 80",
    ],
)
def test_a_test_of_now_is_taken_whatever_else_is_told(world: World, text: str) -> None:
    ada = world.owner("Ada")
    ada.says(text)
    if ada.last.asks == "log":
        ada.taps("Yes")
    assert world.facts("reading")[-1].values == {"fc": Said.value(3), "ph": Said.value(7.4), "ta": Said.value(80)}

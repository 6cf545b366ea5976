"""A case rises until somebody answers: by the dealer's settings and hours, a danger at any hour."""

from datetime import UTC, datetime

from tests.talk.crew import SHOCK, Crew, asked
from tests.talk.world import World, texts

NIGHT = datetime(2027, 3, 1, 2, 10, tzinfo=UTC)


def test_whoever_has_a_case_and_lets_its_owner_wait_is_reminded_and_then_the_others_are_told(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it")
    crew.world.passes(hours=3, minutes=50)
    assert "has been waiting" not in crew.tom.text
    crew.world.restart()
    crew.world.passes(minutes=15)
    assert "Ada has been waiting for your answer since Mon 1 Mar, 09:00" in crew.tom.text
    assert "waits for an answer" not in texts(crew.una.messages)
    crew.world.passes(hours=4)
    assert "Ada still waits for an answer from Tom" in crew.una.text
    assert "Ada still waits for an answer from Tom" in crew.dee.text
    crew.una.taps("Take it over").says("Sorry, here I am.")
    assert "here I am" in crew.ada.text


def test_an_answer_ends_the_waiting_until_the_owner_writes_again(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").says("Does it fit?")
    crew.world.passes(hours=9)
    assert "has been waiting" not in texts(crew.tom.messages)
    crew.ada.says("it does, on both sides of it")
    crew.world.passes(hours=20)
    assert "has been waiting for your answer since" in crew.tom.text


def test_a_reminder_to_answer_keeps_to_the_dealers_hours() -> None:
    with World(datetime(2027, 3, 1, 18, 0, tzinfo=UTC)) as world:
        crew = Crew.of(world)
        asked(crew)
        crew.tom.taps("Take it")
        world.passes(hours=14, minutes=50)
        assert "has been waiting" not in texts(crew.tom.messages)
        world.passes(minutes=15)
        assert "has been waiting" in crew.tom.text


def test_in_a_danger_half_an_hour_without_an_answer_is_enough_at_any_hour() -> None:
    with World(NIGHT) as world:
        crew = Crew.of(world)
        crew.ada.says(SHOCK)
        crew.tom.taps("Take it")
        world.passes(minutes=35)
        assert "has been waiting" in crew.tom.text
        world.passes(minutes=35)
        assert "still waits" in crew.una.text


def test_the_dealer_sets_how_soon_a_case_is_sent_again() -> None:
    with World(cases={"again": 10, "answer": 20}) as world:
        crew = Crew.of(world)
        asked(crew)
        world.passes(minutes=11)
        assert "Nobody has taken this yet" in crew.tom.text
        world.passes(minutes=10)
        assert "Nobody has taken this yet" in crew.dee.text
        crew.tom.taps("Take it")
        world.passes(minutes=35)
        assert "has been waiting" in crew.tom.text


def test_a_case_given_back_rises_anew(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").taps("Give back")
    crew.world.passes(minutes=31)
    assert "Nobody has taken this yet" in crew.una.text


def test_doses_held_for_a_day_bring_whoever_holds_them_a_word(crew: Crew) -> None:
    asked(crew)
    crew.tom.taps("Take it").says("Wait for me.").taps("Hold doses")
    crew.world.passes(hours=23)
    assert "No dose has been named" not in texts(crew.tom.messages)
    crew.world.passes(hours=6)
    assert "No dose has been named to Ada since" in crew.tom.text
    before = len(crew.tom.messages)
    crew.tom.taps("Let it go on")
    crew.world.passes(days=2)
    assert "No dose has been named" not in texts(crew.tom.messages[before:])

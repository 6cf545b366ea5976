"""When a test has come to its end: no strip more than somebody wants to bathe for, no question of another day."""

from datetime import timedelta

from bot.model.fact import Added, ReadingTaken
from dosing import Said
from tests.talk.world import Actor, World, texts


def known_owner(world: World) -> Actor:
    """An owner with a month of weekly tests behind them, the last a week ago."""
    ada = world.owner("Ada")
    for days in (28, 21, 14, 7):
        values = {"fc": Said.value(5.0), "ph": Said.value(7.4), "ta": Said.value(100.0)}
        ada.did(ReadingTaken(values=values, method="strip"), ago=timedelta(days=days))
        dose = {"sodium_hypochlorite": 3.0}
        ada.did(Added(product="hypochlorite", grams=24.0, substances=dose), ago=timedelta(days=days - 1))
    return ada


def test_in_water_that_is_known_nobody_tests_again_who_does_not_want_to_bathe(world: World) -> None:
    ada = known_owner(world)
    ada.says("fc 1 ph 7.4 ta 100")
    assert ada.last.dose
    ada.taps("Done")
    world.passes(minutes=31)
    assert "bathe today" in ada.text
    ada.taps("Not today")
    assert ada.conversation.flows == ()
    assert "fc" not in texts(ada.new)


def test_who_wants_to_bathe_tests_again_at_once(world: World) -> None:
    ada = known_owner(world)
    ada.says("fc 1 ph 7.4 ta 100").taps("Done")
    world.passes(minutes=31)
    ada.taps("Test again now")
    assert ada.last.asks == "fc"


def test_in_water_that_nobody_knows_yet_a_test_shows_what_the_doses_did(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 7.4 ta 100").taps("Done")
    world.passes(minutes=31)
    assert ada.last.asks == "fc"


def test_a_test_of_another_day_is_not_gone_back_to(world: World) -> None:
    ada = known_owner(world)
    ada.says("test").taps("Nobody")
    assert ada.last.asks == "fc"
    world.passes(hours=3)
    ada.says("I rinsed the filter").taps("Yes")
    assert ada.last.asks == "fc"
    world.passes(days=2)
    ada.says("I rinsed the filter").taps("Yes")
    assert ada.last.asks is None
    assert ada.conversation.flows == ()


def test_a_volume_that_the_doses_contradict_is_asked_about_once(world: World) -> None:
    ada = world.owner("Ada", volume=1300.0)
    for number in range(8):
        for hours, alkalinity in ((2.0, 40.0), (1.0, 120.0)):
            values = {"fc": Said.value(5.0), "ph": Said.value(7.4), "ta": Said.value(alkalinity)}
            ada.did(ReadingTaken(values=values, method="strip"), ago=timedelta(days=4 * (8 - number), hours=hours))
        poured = Added(product="bicarbonate", grams=80.0, substances={"sodium_bicarbonate": 80.0})
        ada.did(poured, ago=timedelta(days=4 * (8 - number), hours=1.8))
    ada.says("fc 5 ph 7.4 ta 80")
    while ada.last.dose:
        ada.taps("Done")
        world.passes(minutes=61)
        if ada.last.asks == "retest":
            ada.taps("Not today")
    assert ada.last.asks == "check"
    assert "1,300" in ada.text
    ada.taps("Look again").says("700 litres")
    assert ada.tub
    assert ada.known.tub
    assert ada.known.tub.volume == 700.0
    world.passes(days=1)
    ada.says("fc 5 ph 7.4 ta 80")
    assert ada.last.asks != "check"


def test_what_nobody_confirmed_on_another_day_is_not_asked_again(world: World) -> None:
    ada = known_owner(world)
    ada.says("I added 30 g hypochlorite")
    assert ada.last.asks == "log"
    world.passes(days=2)
    ada.says("what goes in today?")
    assert ada.last.asks != "log"
    assert "Shall I write this down" not in texts(ada.new)

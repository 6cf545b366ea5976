"""A bottle of strips may read pH off: a better one is asked for once, kept beside the strip, and forgotten with it."""

from datetime import timedelta

from bot.model.fact import CardTold, ReadingTaken
from dosing import Said
from tests.talk.world import Actor, World

FINE = "fc 5 ph 7.4 ta 80"


def settled(world: World) -> Actor:
    """An owner who has tested with strips for three weeks, and has had a card."""
    ada = world.owner("Ada")
    for days in (21, 14, 7):
        values = {"fc": Said.value(5.0), "ph": Said.value(7.8), "ta": Said.value(80.0)}
        ada.did(ReadingTaken(values=values), ago=timedelta(days=days))
    ada.did(CardTold(product="hypochlorite", each_soak=50, each_bather_hour=40, idle_days=2, idle=60), ago=timedelta(7))
    return ada


def asked(ada: Actor) -> bool:
    return ada.turn is not None and ada.turn.open.flow == "better_ph"


def in_range(world: World, ada: Actor) -> None:
    """A test in range, and the dose of the routine that the evening asks for."""
    ada.says(FINE)
    while ada.last.dose:
        ada.taps("Done")
        world.passes(minutes=31)


def test_a_settled_owner_is_asked_once_for_each_bottle(world: World) -> None:
    ada = settled(world)
    in_range(world, ada)
    assert asked(ada)
    ada.taps("Not possible")
    world.passes(days=3)
    in_range(world, ada)
    assert not asked(ada)
    ada.says("new strips")
    assert [fact.kind for fact in world.facts("strips")] == ["strips"]
    world.passes(days=1)
    in_range(world, ada)
    assert asked(ada)


def test_a_new_owner_is_not_asked(world: World) -> None:
    ada = world.owner("Ada")
    in_range(world, ada)
    assert not asked(ada)


def test_a_better_ph_stands_beside_the_strips_as_a_test_of_its_own(world: World) -> None:
    ada = settled(world)
    ada.says("better ph").taps("I have one").taps("At the dealer's").says("7,6")
    assert ada.last.asks == "ph"
    ada.taps("7.8")
    strip, better = world.facts("reading")[-2:]
    assert (strip.method, strip.values) == ("strip", {"ph": Said.value(7.8)})
    assert (better.method, better.values) == ("meter", {"ph": Said.value(7.6)})


def test_a_strip_told_just_now_is_not_asked_for_again(world: World) -> None:
    ada = settled(world)
    ada.says(FINE).taps("Skip").says("better ph").taps("I have one").taps("Drops").says("7.5")
    assert world.facts("reading")[-1].method == "drops"
    assert len(world.facts("reading")) == 5
    assert ada.conversation.flows == ()


def test_an_impossible_ph_is_asked_again(world: World) -> None:
    ada = settled(world)
    ada.says("better ph").taps("I have one").taps("Meter").says("74")
    assert ada.last.asks == "better_ph"

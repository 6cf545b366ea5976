"""Whoever did something for the water hears what comes next, and a test that is put off puts off nothing else."""

from bot.talk.buttons import CommandButton, decode
from tests.talk.care.test_better_ph import settled
from tests.talk.care.test_known_water import read, taught
from tests.talk.world import Actor, World


def offered(owner: Actor) -> bool:
    """Whether today's dose is one tap away."""
    return any(decode(button.data) == CommandButton("dose") for row in owner.last.buttons for button in row)


def test_after_a_test_a_dose_and_a_question_for_one_the_next_day_is_named(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 5 ph 7.4 ta 80")
    assert "next dose is on" in "\n".join(message.text for message in ada.new)
    world.passes(days=1)
    ada.says("/dose").taps("Done")
    world.passes(minutes=31)
    assert "close the cover" in ada.text
    assert "The next" in ada.text or "the next dose is on" in ada.text
    ada.says("/dose")
    assert "add nothing now" in ada.text
    assert "next" in ada.text


def test_whoever_tests_a_known_tub_gives_it_what_the_evening_needs_in_the_same_sitting(world: World) -> None:
    ada = settled(world)
    ada.says("fc 5 ph 7.4 ta 80")
    assert ada.last.asks == "did.routine"
    ada.taps("Done")
    world.passes(minutes=31)
    told = "\n".join(message.text for message in ada.messages[-2:])
    assert "close the cover" in told
    assert "The next test is on" in told or "the next dose is on" in told


def test_a_plan_that_brought_sanitizer_is_not_followed_by_more_of_it(world: World) -> None:
    ada = taught(world.owner("Ada"))
    ada.says("fc 1 ph 7.4 ta 80").answers("did.sanitizer", "done")
    world.passes(minutes=31)
    ada.answers("retest", "later")
    assert ada.last.dose is None


def test_of_a_tub_that_nobody_knows_yet_the_test_alone_speaks(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 3 ph 7.4 ta 80")
    assert ada.last.dose is None


def reminded_of_a_test(world: World) -> Actor:
    ada = taught(world.owner("Ada"))
    ada.says("fc 5 ph 7.4 ta 80").taps("Done")
    for _ in range(8):
        world.passes(days=1)
        if "time to test" in ada.text:
            break
    return ada


def test_a_reminder_of_a_test_offers_the_dose_that_the_water_needs_anyhow(world: World) -> None:
    ada = reminded_of_a_test(world)
    assert offered(ada)
    ada.taps("Today's dose")
    assert ada.last.asks == "did.routine"


def test_a_test_that_is_put_off_leaves_the_dose_for_today(world: World) -> None:
    ada = reminded_of_a_test(world)
    ada.taps("Later").taps("Tomorrow")
    assert offered(ada)


def test_after_a_test_that_nobody_did_the_routine_is_reminded_of_again(world: World) -> None:
    ada = reminded_of_a_test(world)
    told = len(ada.messages)
    world.passes(days=1.5)
    assert any(message.dose for message in ada.messages[told:])


def test_a_card_that_is_held_down_by_much_chlorine_today_is_no_news(world: World) -> None:
    ada = taught(world.owner("Ada"))
    ada.says("fc 10 ph 7.4 ta 80")
    world.passes(minutes=31)
    assert "Never more than 0" not in "\n".join(message.text for message in ada.messages)
    ada.says("/card")
    assert "Never more than 0" not in ada.text


def test_no_dose_rests_on_a_level_that_the_test_just_gainsaid(world: World) -> None:
    """Who pours without telling has chlorine that nothing in the journal explains."""
    ada = world.owner("Ada", sanitizer="chlorine", volume=1200.0)
    for days in (21.0, 14.0, 7.0):
        read(ada, days, fc=3.0, ph=7.4, ta=80.0)
    ada.says("fc 5 ph 7.4 ta 80")
    assert "about 0 mg/L is left" not in "\n".join(message.text for message in ada.new)

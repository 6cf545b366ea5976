"""A reminder comes by itself, says one thing first, and whatever is answered sets the next one."""

from datetime import UTC, datetime, timedelta

import pytest

from bot.model.event import Tapped
from bot.model.fact import ReadingTaken
from bot.talk.buttons import ReminderButton, encode
from dosing import Said
from tests.talk.world import Actor, World

TESTED = ReadingTaken(values={"ph": Said.value(7.4), "fc": Said.value(3.0), "ta": Said.value(80.0)})


def wake(owner: Actor) -> None:
    """Let the reminders fall into line with what was put into the journal."""
    owner.says("my tub")


def reminders(owner: Actor) -> list[str]:
    return [message.text for message in owner.messages if message.lane == "reminder"]


def well_kept(world: World) -> Actor:
    """An owner whose only overdue care is behind them: tested now, filter and shock not mine. Nothing is foreseen of
    their water: nobody said with what it is kept, so days alone are counted.
    """
    owner = world.owner("Ada", sanitizer=None)
    owner.did(TESTED)
    for what in ("dose", "shock", "rinse", "soak", "refill", "cover"):
        world.arrives("Ada", not_mine(owner, what))
    return owner


def not_mine(owner: Actor, what: str):  # type: ignore[no-untyped-def]
    from bot.talk.buttons import ReminderButton, encode

    assert owner.tub
    return Tapped(data=encode(ReminderButton(owner.tub.key, what, "not_mine")))


def test_the_weekly_test_comes_a_week_after_the_last_one_and_done_begins_it(world: World) -> None:
    ada = well_kept(world)
    world.passes(days=6, hours=8)
    assert reminders(ada) == []
    world.passes(days=1, hours=2)
    assert reminders(ada) == ["It is time to test the water."]
    ada.taps("Done")
    assert ada.turn
    assert ada.turn.open.flow == "weekly_test"


def test_a_test_in_between_moves_the_reminder(world: World) -> None:
    ada = well_kept(world)
    world.passes(days=5)
    ada.did(TESTED)
    wake(ada)
    world.passes(days=6)
    assert reminders(ada) == []
    world.passes(days=2)
    assert len(reminders(ada)) == 1


def test_later_asks_when_and_keeps_to_it(world: World) -> None:
    ada = well_kept(world)
    world.passes(days=8)
    ada.taps("Later").taps("In three days")
    world.passes(days=2)
    assert len(reminders(ada)) == 1
    world.passes(days=2)
    assert len(reminders(ada)) == 2


def test_later_takes_a_day_in_words(world: World) -> None:
    ada = well_kept(world)
    world.passes(days=8)
    ada.taps("Later").taps("Pick a day").says("20 March")
    assert "20 Mar" in ada.text
    world.passes(days=5)
    assert len(reminders(ada)) == 1
    world.passes(days=7)
    assert len(reminders(ada)) == 2


def test_not_mine_ends_it_for_one_and_leaves_it_to_the_other(world: World) -> None:
    ada = well_kept(world)
    bo = world.owner("Bo", tub=ada)
    for what in ("dose", "shock", "rinse", "soak", "refill", "cover"):
        world.arrives("Bo", not_mine(bo, what))
    world.passes(days=8)
    ada.taps("Not mine")
    world.passes(days=14)
    assert len(reminders(ada)) == 1
    assert len(reminders(bo)) > 1


def test_nobody_is_reminded_of_what_the_other_has_done(world: World) -> None:
    ada = well_kept(world)
    bo = world.owner("Bo", tub=ada)
    for what in ("dose", "shock", "rinse", "soak", "refill", "cover"):
        world.arrives("Bo", not_mine(bo, what))
    world.passes(days=6)
    ada.did(TESTED)
    wake(ada)
    world.passes(days=3)
    assert reminders(bo) == []


def test_silence_is_met_with_growing_gaps(world: World) -> None:
    ada = well_kept(world)
    world.passes(days=60)
    assert len(reminders(ada)) == 5
    world.passes(days=60)
    assert len(reminders(ada)) == 7


def test_several_due_at_once_are_one_message_each_with_a_button_of_its_own(world: World) -> None:
    ada = world.owner("Ada")
    wake(ada)
    world.passes(days=1)
    assert len(reminders(ada)) == 1
    assert "Also due now" in reminders(ada)[0]
    ada.taps("Filter rinsed")
    assert [fact.what for fact in world.facts("filter")] == ["rinse"]
    assert "next" not in ada.text
    ada.taps("Oxidised")
    assert ada.last.asks == "product"


def test_every_care_task_is_done_by_one_tap_or_begins_its_conversation(world: World) -> None:
    ada = world.owner("Ada", cartridge=True)
    for what, kind in (("rinse", "filter"), ("soak", "filter"), ("cartridge", "cartridge")):
        before = len(world.facts(kind))
        tap(ada, what, "done")
        assert len(world.facts(kind)) == before + 1
    tap(ada, "shock", "done")
    assert ada.last.asks == "product"
    tap(ada, "refill", "done")
    assert ada.last.asks == "begin"


def tap(owner: Actor, what: str, answer: str) -> None:
    assert owner.tub
    owner.taps_data(encode(ReminderButton(owner.tub.key, what, answer)))


def test_a_button_of_another_tub_is_out_of_date(world: World) -> None:
    ada = world.owner("Ada")
    ada.taps_data("1r.t-other.rinse.done")
    assert "out of date" in ada.text
    assert world.facts("filter") == []


def test_the_shock_is_written_down_with_product_and_amount(world: World) -> None:
    ada = world.owner("Ada")
    tap(ada, "shock", "done")
    ada.taps("Non-chlorine shock").says("40 g")
    (added,) = world.facts("addition")
    assert (added.product, added.grams, added.shock) == ("monopersulfate", 40.0, True)
    assert added.substances["potassium_monopersulfate"] == 36.0


def test_a_shock_far_beyond_any_label_is_asked_about_again(world: World) -> None:
    ada = world.owner("Ada")
    tap(ada, "shock", "done")
    ada.taps("Non-chlorine shock").says("40 kg")
    assert world.facts("addition") == []
    assert "How much was it really" in ada.text


def test_reminders_keep_to_the_hour_of_the_wall_over_the_change_of_clocks() -> None:
    with World(datetime(2027, 3, 22, 9, tzinfo=UTC), zone="Europe/Paris") as world:
        ada = well_kept(world)
        world.passes(days=8)
        (sent,) = [parcel for parcel in world.sent if parcel.message.lane == "reminder"]
    assert ada.person.zone == "UTC"
    assert sent.at.hour == 18


def test_a_blocked_or_stopped_person_hears_nothing_and_is_reminded_again_when_back(world: World) -> None:
    ada = well_kept(world)
    ada.says("stop")
    world.passes(days=9)
    assert reminders(ada) == []
    ada.says("start")
    world.passes(days=1, hours=10)
    assert len(reminders(ada)) == 1


def test_a_restart_between_plan_and_due_changes_nothing(world: World) -> None:
    ada = well_kept(world)
    world.passes(days=5)
    world.restart()
    world.passes(days=3)
    assert len(reminders(ada)) == 1


def test_after_days_of_standing_still_a_person_gets_one_message_at_a_fitting_hour(world: World) -> None:
    ada = world.owner("Ada")
    wake(ada)
    world.clock.move_to(world.clock.now() + timedelta(days=9, hours=14))
    world.passes(hours=20)
    sent = [parcel for parcel in world.sent if parcel.message.lane == "reminder"]
    assert len(sent) == 1
    assert 9 <= sent[0].at.hour < 20


@pytest.mark.parametrize("what", ["replace", "purge", "cover", "winter"])
def test_what_comes_seldom_is_done_or_put_off_by_one_tap(world: World, what: str) -> None:
    ada = world.owner("Ada")
    tap(ada, what, "later")
    ada.taps("In three days" if "In three days" in ada.buttons else ada.buttons[1])
    tap(ada, what, "done")
    assert "written down" in ada.text or "ready" in ada.text
    answers = [(fact.what, fact.answer) for fact in world.facts("reminder")]
    assert answers == [(what, "later"), (what, "done")]

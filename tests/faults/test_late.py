"""What waited in the outbox is looked at again as it leaves: hours may have passed, and somebody may have been hurt."""

from collections.abc import Iterator
from datetime import timedelta

import pytest

from tests.faults.neighbourhood import Neighbourhood
from tests.talk.crew import SHOCK

HOURS = 3600.0


@pytest.fixture
def town() -> Iterator[Neighbourhood]:
    with Neighbourhood() as town:
        yield town


def refuses_the_next_reminder(town: Neighbourhood, *, hours: float) -> None:
    """Bo's next reminder meets a channel that wants to be left alone for so long."""
    due = min(due.at for due in town.actors["Bo"].known.dues)
    town.passes(seconds=(due - town.clock.now()).total_seconds() - 1)
    town.refusals, town.refuses_for = 1, hours * HOURS
    town.passes(seconds=2)
    assert town.refusals == 0


def test_a_reminder_that_could_not_leave_in_the_evening_comes_after_the_quiet_hours_and_once(
    town: Neighbourhood,
) -> None:
    bo = town.actors["Bo"].says("br 5 ph 7.4 ta 80 ch 150")
    refuses_the_next_reminder(town, hours=7)
    before = len(bo.messages)
    town.passes(hours=18)
    assert [message.lane for message in bo.messages[before:]] == ["reminder"]
    town.check_all()


def test_a_reminder_that_could_not_leave_does_not_come_after_a_stop(town: Neighbourhood) -> None:
    bo = town.actors["Bo"].says("br 5 ph 7.4 ta 80 ch 150")
    refuses_the_next_reminder(town, hours=1)
    bo.says("stop")
    town.passes(days=2)
    assert [message.lane for message in bo.new] == ["reply"]
    town.check_all()


def test_a_dose_asked_for_twice_in_one_moment_is_two_plans_of_which_one_is_open(town: Neighbourhood) -> None:
    ada = town.actors["Ada"].says("cl 4 ph 7.4 ta 80 ch 150")
    town.sleeps(timedelta(days=4))
    press = ada.button("Today's dose").data
    ada.taps_data(press).taps_data(press)
    assert ada.last.dose
    town.check_all()
    assert len([fact for fact in town.facts("plan", ada) if fact.plan.steps]) == 2


@pytest.mark.parametrize("who", ["Mo", "Ada"])
def test_a_dose_that_could_not_leave_is_not_named_once_somebody_of_the_household_told_of_danger(
    town: Neighbourhood, who: str
) -> None:
    mo = town.actors["Mo"]
    tests_all_but_hardness(town)
    town.refusals, town.refuses_for = 1, 600.0
    mo.answers("ch", "150")
    before = len(mo.messages)
    town.actors[who].says(SHOCK)
    town.passes(minutes=20)
    came = mo.messages[before:]
    assert came
    assert not any(message.dose for message in came)
    assert "I name no dose" in came[0].text
    town.check_all()


def tests_all_but_hardness(town: Neighbourhood) -> None:
    mo = town.actors["Mo"]
    mo.says("test").taps("Nobody")
    for pad, value in {"fc": "1", "ph": "8.4", "ta": "180"}.items():
        mo.answers(pad, value)

"""Fewer messages, none, or to be forgotten: what somebody says is what happens."""

from datetime import UTC, datetime, timedelta

from tests.talk.world import World


def test_stop_works_at_once_and_ends_what_was_open(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("fc 1 ph 8.4 ta 180").taps("Done")
    before = len(ada.messages)
    ada.says("stop")
    assert [fact.kind for fact in world.facts("stopped")] == ["stopped"]
    world.passes(days=30)
    assert len(ada.messages) == before + 1
    assert ada.conversation.flows == ()


def test_a_plan_that_is_given_up_does_not_stay_open_for_the_others(world: World) -> None:
    ada = world.owner("Ada")
    bo = world.owner("Bo", tub=ada)
    ada.says("fc 1 ph 8.4 ta 180").says("cancel")
    assert [closed.how for closed in world.facts("plan_closed")] == ["abandoned"]
    bo.says("test")
    assert "Ada" not in bo.text


def test_start_brings_the_messages_back(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("stop").says("start")
    assert "Good to have you back" in ada.text
    assert len(world.facts("resumed")) == 1
    world.passes(days=2)
    assert any(message.lane == "reminder" for message in ada.messages)


def test_a_question_after_stop_is_answered_and_nothing_more_comes(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("stop").says("history")
    assert "filled" in ada.text
    before = len(ada.messages)
    world.passes(days=30)
    assert len(ada.messages) == before


def test_a_holiday_is_quiet_until_its_day(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("pause").says("20 March")
    assert "20 Mar" in ada.text
    before = len(ada.messages)
    world.passes(days=18)
    assert len(ada.messages) == before
    world.passes(days=3)
    assert len(ada.messages) > before


def test_a_holiday_may_be_told_in_weeks_and_ended_before_its_time(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("pause").says("three weeks")
    assert ada.known.person
    assert ada.known.person.paused_until == datetime(2027, 3, 22, tzinfo=UTC)
    ada.says("pause").taps("End the pause")
    assert "test the water" in ada.text
    world.passes(days=1)
    assert any(message.lane == "reminder" for message in ada.messages)


def test_a_holiday_that_has_no_day_yet_is_asked_about_again(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("pause").says("yesterday")
    assert ada.last.asks == "until"
    ada.taps("Cancel")
    assert ada.conversation.flows == ()


def test_quiet_hours_are_set_in_a_few_answers_and_kept(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("quiet hours").taps("Other hours").says("17:30").says("11:00")
    assert "In those hours" in ada.text
    world.passes(days=2)
    hours = [parcel.at.hour for parcel in world.sent if parcel.message.lane == "reminder"]
    assert hours
    assert all(11 <= hour < 17 for hour in hours)


def test_a_reminder_that_was_taken_off_can_be_put_back(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("reminders")
    assert "test the water" in ada.text
    ada.taps("No more: test")
    assert [(fact.what, fact.answer) for fact in world.facts("reminder")] == [("test", "not_mine")]
    ada.says("reminders").taps("Again: test")
    world.passes(days=1)
    assert any("test the water" in message.text for message in ada.messages if message.lane == "reminder")


def test_deleting_asks_once_and_then_knows_nobody(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("delete my data").taps("Keep it")
    assert ada.known.person
    ada.says("delete my data").taps("Delete my data")
    assert "forgotten you" in ada.text
    assert ada.known.person is None
    before = len(ada.messages)
    world.passes(days=30)
    assert len(ada.messages) == before
    ada.says("hello")
    assert "invite" in ada.text


def test_what_went_into_the_water_outlives_its_owner_without_a_name(world: World) -> None:
    ada = world.owner("Ada")
    bo = world.owner("Bo", tub=ada)
    ada.says("fc 3 ph 7.4 ta 80")
    ada.says("delete my data").taps("Delete my data")
    told = [entry for entry in world.journal() if entry.fact.kind == "reading"]
    assert [entry.person for entry in told] == [None]
    bo.says("history")
    assert "free chlorine 3" in bo.text


def test_units_and_language_are_set_by_a_tap(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("units").taps("Gallons, °F, ounces")
    ada.says("my tub")
    assert "US gal" in ada.text
    ada.says("language").taps("English")
    assert ada.conversation.flows == ()


def test_cancel_closes_what_is_open(world: World) -> None:
    ada = world.owner("Ada")
    ada.says("pause").says("cancel")
    assert ada.conversation.flows == ()


def test_the_pause_is_over_by_itself_in_the_owners_own_zone() -> None:
    with World() as world:
        ada = world.owner("Ada", person={"zone": "Pacific/Auckland"})
        ada.says("pause").says("10 March")
        assert ada.known.person
        assert ada.known.person.paused_until == datetime(2027, 3, 9, 11, tzinfo=UTC)
        world.passes(days=8, hours=1)
        assert all(message.lane != "reminder" for message in ada.messages)
        world.passes(days=2)
        first = next(parcel for parcel in world.sent if parcel.message.lane == "reminder")
        assert first.at - ada.known.person.paused_until < timedelta(days=1)

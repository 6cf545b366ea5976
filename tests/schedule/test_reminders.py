"""Reminders are computed from the journal: from what happened last, in the owner's own time, and never for ever."""

from collections.abc import Iterable, Sequence
from datetime import UTC, datetime, time, timedelta
from zoneinfo import ZoneInfo

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import dosing
from bot.model.dealer import Dealer, Intervals, Quiet
from bot.model.due import Due
from bot.model.fact import (
    Added,
    CartridgeChanged,
    CaseOpened,
    DosesHeld,
    Entry,
    Filled,
    FilterCared,
    Plain,
    PlanClosed,
    PlanIssued,
    ReadingTaken,
    Refilled,
    ReminderAnswered,
    Soaked,
    StartedUp,
)
from bot.model.fact import TestWanted as Wanted  # by another name, so that it is not taken for a test
from bot.model.person import Address, Person
from bot.model.tub import Tub
from bot.schedule.calendar import calendar_of
from bot.schedule.care import FIRST_WEEK, water_days
from bot.schedule.local import in_quiet_hours
from bot.schedule.reminders import ADDED, NAMES, caretaker, reminders_of
from dosing import Said

PARIS = ZoneInfo("Europe/Paris")
DEALER = Dealer(key="d", name="Harbour Tubs", zone="Europe/Paris")
ADA = Person(key="ada", dealer="d", name="Ada", zone="Europe/Paris")
BO = ADA.model_copy(update={"key": "bo", "name": "Bo"})
TUB = Tub(key="t", dealer="d", volume=1300.0)
LEARNED = TUB.model_copy(update={"sanitizer": "chlorine"})
"""Of this tub enough is known for its water to be foreseen; of the other only days are counted."""
FILL = datetime(2027, 3, 1, 9, tzinfo=UTC)


def reading() -> ReadingTaken:
    return ReadingTaken(values={"ph": Said.value(7.4), "fc": Said.value(3.0)})


def journal(*told: tuple[float, Plain] | tuple[float, Plain, Person]) -> list[Entry]:
    """Entries so many days after the fill, told by Ada or by who is named."""
    entries = []
    for number, (days, fact, *by) in enumerate(told):
        who = by[0] if by else ADA
        at = FILL + timedelta(days=days)
        entries.append(Entry(key=str(number), dealer="d", tub="t", person=who.key, at=at, via="test", fact=fact))
    return sorted(entries, key=lambda entry: entry.at)


def dues(
    entries: Iterable[Entry], days: float, person: Person = ADA, tub: Tub = TUB, dealer: Dealer = DEALER
) -> dict[str, Due]:
    found = reminders_of(person, tub, dealer, list(entries), FILL + timedelta(days=days))
    return {due.what: due for due in found}


def day_of(due: Due) -> int:
    """How many days after the day of the fill a reminder comes, by Ada's calendar."""
    return (due.at.astimezone(PARIS).date() - FILL.astimezone(PARIS).date()).days


FRESH = ((0.0, Filled()), (0.1, StartedUp()))


def test_an_empty_tub_reminds_nobody() -> None:
    assert dues(journal(), 10) == {}
    assert dues(journal((0, CaseOpened(case="c", klass="question", reasons=()))), 10) == {}


def test_fresh_water_is_tested_on_days_one_two_four_and_seven() -> None:
    told: list[tuple[float, Plain]] = list(FRESH)
    found = []
    for days in FIRST_WEEK:
        found.append(day_of(dues(journal(*told), told[-1][0] + 0.1)["test"]))
        told.append((days + 0.2, reading()))
    assert tuple(found) == FIRST_WEEK


def test_a_day_of_the_first_week_that_was_missed_is_followed_by_the_next_one() -> None:
    told = journal(*FRESH, (3.2, reading()))
    assert day_of(dues(told, 3.3)["test"]) == 4


def test_after_the_first_week_the_dealers_interval_counts_from_the_last_test() -> None:
    weekly = DEALER.model_copy(update={"intervals": Intervals(test=5)})
    assert day_of(dues(journal(*FRESH, (20, reading())), 20.1)["test"]) == 27
    assert day_of(dues(journal(*FRESH, (20, reading())), 20.1, dealer=weekly)["test"]) == 25


def test_a_test_that_a_plan_wants_sooner_comes_sooner() -> None:
    wanted = Wanted(at=FILL + timedelta(days=22, hours=5), why="forecast")
    assert dues(journal(*FRESH, (20, reading()), (20, wanted)), 20.1)["test"].at == wanted.at


def test_a_test_wanted_in_the_night_waits_for_the_morning() -> None:
    wanted = Wanted(at=FILL + timedelta(days=22, hours=15), why="forecast")
    due = dues(journal(*FRESH, (20, reading()), (20, wanted)), 20.1)["test"]
    assert due.at.astimezone(PARIS).time() == time(9)


def test_a_wish_for_a_test_is_answered_by_the_next_test() -> None:
    wanted = Wanted(at=FILL + timedelta(days=21), why="forecast")
    told = journal(*FRESH, (20, reading()), (20, wanted), (20.5, reading()))
    assert day_of(dues(told, 20.6)["test"]) == 27


@pytest.mark.parametrize(
    ("what", "done", "days"),
    [
        ("shock", Added(shock=True), 7),
        ("rinse", FilterCared(what="rinse"), 14),
        ("rinse", FilterCared(what="soak"), 14),
        ("soak", FilterCared(what="soak"), 60),
        ("soak", FilterCared(what="replace"), 60),
        ("refill", Refilled(), 90),
    ],
)
def test_every_care_task_is_counted_from_when_it_was_done_last(what: str, done: Plain, days: int) -> None:
    assert day_of(dues(journal(*FRESH, (30, done)), 30.1)[what]) == 30 + days


def test_a_rinse_is_no_soak() -> None:
    assert day_of(dues(journal(*FRESH, (30, FilterCared(what="rinse"))), 30.1)["soak"]) == 60


def test_adding_a_part_of_fresh_water_is_no_change_of_water() -> None:
    assert day_of(dues(journal(*FRESH, (30, Refilled(litres=200))), 30.1)["refill"]) == 90


def test_only_a_tub_that_takes_a_cartridge_is_reminded_of_it_and_the_filter_is_another_thing() -> None:
    with_cartridge = TUB.model_copy(update={"cartridge": True})
    told = journal(*FRESH, (10, CartridgeChanged()), (20, FilterCared(what="replace")))
    assert "cartridge" not in dues(told, 20.1)
    assert day_of(dues(told, 20.1, tub=with_cartridge)["cartridge"]) == 130
    assert day_of(dues(told, 20.1, tub=with_cartridge)["rinse"]) == 34


@pytest.mark.parametrize(
    ("gallons", "bathers", "days"),
    [(300, 2, 50), (400, 2, 66), (400, 4, 33), (250, 6, 13), (400, 0.5, 90), (80, 12, 7)],
)
def test_many_bathers_wear_the_water_out_sooner(gallons: float, bathers: float, days: int) -> None:
    tub = TUB.model_copy(update={"volume": gallons * 3.785411784, "bathers": 1, "soaks_per_week": bathers * 7})
    assert water_days(tub, DEALER, journal(*FRESH), FILL) == pytest.approx(days, abs=1)


def test_where_nobody_said_how_many_bathe_the_soaks_of_this_fill_tell() -> None:
    soaks = [(float(day), Soaked(bathers=4, minutes=30)) for day in range(1, 20)]
    assert water_days(TUB, DEALER, journal(*FRESH, *soaks), FILL + timedelta(days=19)) < 40
    assert water_days(TUB, DEALER, journal(*FRESH, *soaks[:5]), FILL + timedelta(days=6)) == 90


def sent(what: str) -> ReminderAnswered:
    return ReminderAnswered.model_validate({"what": what, "answer": "sent"})


def test_a_reminder_without_an_answer_comes_again_after_growing_gaps_and_then_no_more() -> None:
    told: list[tuple[float, Plain]] = [*FRESH, (20, reading())]
    days = []
    while (due := dues(journal(*told), told[-1][0] + 0.1).get("rinse")) is not None:
        days.append(day_of(due))
        told.append(((due.at - FILL) / timedelta(days=1), sent("rinse")))
    assert days == [20, 22, 27]


@pytest.mark.parametrize("what", ["test", "refill"])
def test_what_the_water_needs_is_asked_for_ever_more_seldom_of_who_says_nothing(what: str) -> None:
    told: list[tuple[float, Plain]] = [*FRESH, (89.5, reading())]
    days: list[int] = []
    while len(days) < 6:
        due = dues(journal(*told), told[-1][0] + 0.1)[what]
        days.append(day_of(due))
        told.append(((due.at - FILL) / timedelta(days=1), sent(what)))
    first = days[0]
    assert days == [first, first + 2, first + 7, first + 21, first + 49, first + 77]


@given(st.floats(0.0, 120.0), st.integers(0, 6), st.sampled_from([ADA, BO]))
def test_the_next_test_is_always_on_the_calendar(passed: float, unanswered: int, person: Person) -> None:
    told = [*FRESH, (20, reading()), *((27.0 + 3 * number, sent("test")) for number in range(unanswered))]
    now = FILL + timedelta(days=max(passed, told[-1][0]) + 0.1)
    tests = [day for day in calendar_of(person, TUB, DEALER, journal(*told), now) if day.what == "test"]
    assert tests
    assert now - timedelta(hours=1) <= tests[0].at <= now + timedelta(days=8)


@pytest.mark.parametrize("what", ["test", "refill"])
def test_what_the_water_needs_is_asked_for_each_week_of_who_bathes_and_doses_but_leaves_it(what: str) -> None:
    told: list[tuple[float, Plain]] = [*FRESH, (89.5, reading())]
    days: list[int] = []
    while len(days) < 8 and (due := dues(journal(*told), told[-1][0] + 0.1).get(what)) is not None:
        days.append(day_of(due))
        at = (due.at - FILL) / timedelta(days=1)
        told += [(at, sent(what)), (at + 1.0, Soaked(bathers=2, minutes=30))]
    first = days[0]
    assert days == [first, first + 2, first + 7, *(first + 7 + 7 * week for week in range(1, 6))]


def test_doing_it_begins_the_count_anew() -> None:
    told = [*FRESH, (20, reading()), (27, sent("test")), (29, sent("test")), (34, sent("test")), (40, reading())]
    assert day_of(dues(journal(*told), 40.1)["test"]) == 47


def test_the_silence_of_one_is_not_the_silence_of_the_other() -> None:
    told = journal(*FRESH, (20, reading()), (27.35, sent("test")))
    assert day_of(dues(told, 27.4)["test"]) == 29
    assert day_of(dues(told, 27.4, person=BO)["test"]) == 28


def test_later_is_kept_to_the_day_for_everybody_on_the_tub() -> None:
    later = ReminderAnswered(what="rinse", answer="later", until=FILL + timedelta(days=17))
    told = journal(*FRESH, (14.35, sent("rinse")), (14.4, later))
    assert day_of(dues(told, 14.5)["rinse"]) == 17
    assert day_of(dues(told, 14.5, person=BO)["rinse"]) == 17


def test_not_mine_is_respected_until_it_is_taken_back() -> None:
    told = [*FRESH, (14, ReminderAnswered(what="rinse", answer="not_mine"))]
    assert "rinse" not in dues(journal(*told), 50)
    assert "rinse" in dues(journal(*told), 50, person=BO)
    told.append((51, ReminderAnswered(what="rinse", answer="later", until=FILL + timedelta(days=51))))
    assert "rinse" in dues(journal(*told), 51.1)


@pytest.mark.parametrize("standing", ["stopped", "blocked", "erased"])
def test_who_wants_or_gets_no_messages_has_no_reminders(standing: str) -> None:
    gone = Person.model_validate({**ADA.model_dump(), "standing": standing})
    assert dues(journal(*FRESH), 10, person=gone) == {}


def test_staff_have_no_reminders() -> None:
    assert dues(journal(*FRESH), 10, person=Person.model_validate({**ADA.model_dump(), "role": "technician"})) == {}


def test_a_holiday_is_free_of_reminders_and_they_are_back_when_it_ends() -> None:
    back = FILL + timedelta(days=40)
    away = ADA.model_copy(update={"paused_until": back})
    found = dues(journal(*FRESH, (10, reading())), 11, person=away)
    assert all(due.at >= back for due in found.values())
    assert day_of(found["test"]) == 40


def test_what_was_missed_waits_for_the_next_fitting_hour() -> None:
    found = dues(journal(*FRESH, (1, reading())), 30.6)
    assert day_of(found["test"]) == 31
    assert found["test"].at.astimezone(PARIS).time() == time(18)


def test_a_reminder_that_is_a_little_late_is_due_now_unless_it_is_night_by_now() -> None:
    told = journal(*FRESH, (20, reading()))
    at = dues(told, 20.1)["test"].at
    late = (at + timedelta(minutes=40) - FILL) / timedelta(days=1)
    asleep = ADA.model_copy(update={"quiet": Quiet(start=time(18, 35), end=time(9))})
    assert dues(told, late)["test"].at == at
    assert dues(told, late, person=asleep)["test"].at > at + timedelta(hours=12)


def test_a_danger_holds_every_reminder_back() -> None:
    told = journal(*FRESH, (20, reading()), (27, CaseOpened(case="c", klass="danger", reasons=("burning",))))
    at = dues(told, 20.1)["test"].at
    now = (at - FILL) / timedelta(days=1)
    assert all(due.at > at for due in dues(told, now).values())


ZONES = st.sampled_from(["Europe/Paris", "America/Chicago", "Australia/Lord_Howe", "Asia/Kathmandu", "Pacific/Apia"])
CLOCKS = st.times().map(lambda clock: clock.replace(second=0, microsecond=0, fold=0))
FACTS = st.sampled_from(
    [
        reading(),
        Added(shock=True),
        FilterCared(what="rinse"),
        FilterCared(what="soak"),
        Refilled(),
        *(sent(what) for what in NAMES),
        ReminderAnswered(what="test", answer="later", until=FILL + timedelta(days=250)),
        Wanted(at=FILL + timedelta(days=200), why="forecast"),
    ]
)
HISTORIES = st.lists(st.tuples(st.floats(0.2, 240), FACTS), max_size=12)
PEOPLE = st.builds(
    lambda zone, start, end: ADA.model_copy(update={"zone": zone, "quiet": Quiet(start=start, end=end)}),
    ZONES,
    CLOCKS,
    CLOCKS,
)


@settings(deadline=None, max_examples=40)
@given(HISTORIES, PEOPLE, st.floats(240, 400))
def test_a_reminder_never_falls_into_the_quiet_hours_of_its_reader(
    told: list[tuple[float, Plain]], person: Person, days: float
) -> None:
    for due in dues(journal(*FRESH, *told), days, person=person, tub=LEARNED).values():
        assert not in_quiet_hours(due.at, person.quiet, ZoneInfo(person.zone))


@settings(deadline=None, max_examples=40)
@given(HISTORIES, PEOPLE, st.floats(240, 400))
def test_a_reminder_that_falls_due_is_still_due_when_it_is_looked_at_again(
    told: list[tuple[float, Plain]], person: Person, days: float
) -> None:
    entries = journal(*FRESH, *told)
    for what, due in dues(entries, days, person=person, tub=LEARNED).items():
        at = max(due.at, FILL + timedelta(days=days))
        assert dues(entries, (at - FILL) / timedelta(days=1), person=person, tub=LEARNED)[what].at <= at


@settings(deadline=None, max_examples=40)
@given(HISTORIES, PEOPLE, st.floats(240, 400))
def test_when_a_reminder_was_sent_the_next_one_lies_ahead(
    told: list[tuple[float, Plain]], person: Person, days: float
) -> None:
    entries = journal(*FRESH, *told)
    for what, due in dues(entries, days, person=person, tub=LEARNED).items():
        at = (max(due.at, FILL + timedelta(days=days)) - FILL) / timedelta(days=1)
        again = dues(journal(*FRESH, *told, (at, sent(what))), at, person=person, tub=LEARNED).get(what)
        assert again is None or again.at > FILL + timedelta(days=at)


@pytest.mark.parametrize("klass", ["water", "danger"])
def test_a_shock_by_the_calendar_does_not_come_on_top_of_a_case_of_the_water(klass: str) -> None:
    case = CaseOpened.model_validate({"case": "1", "klass": klass, "reasons": ("no_sanitizer",)})
    told = (0, Filled()), (0.25, StartedUp())
    now = 8.0
    assert dues(journal(*told), now)["shock"].at <= FILL + timedelta(days=8.5)
    assert dues(journal(*told, (6.5, case)), now)["shock"].at > FILL + timedelta(days=8.5)


def test_a_shock_by_the_calendar_waits_while_staff_hold_the_doses() -> None:
    question = CaseOpened(case="1", klass="question", reasons=())
    told = (0, Filled()), (0.25, StartedUp()), (6.5, question)
    now = 8.0
    assert dues(journal(*told), now)["shock"].at <= FILL + timedelta(days=8.5)
    held = (6.6, DosesHeld(case="1", held=True))
    assert dues(journal(*told, held), now)["shock"].at > FILL + timedelta(days=8.5)
    freed = (6.7, DosesHeld(case="1", held=False))
    assert dues(journal(*told, held, freed), now)["shock"].at <= FILL + timedelta(days=8.5)


def test_a_shock_by_the_calendar_waits_while_a_plan_of_today_is_open() -> None:
    plan = dosing.plan(volume=1300.0, sanitizer="chlorine", reading=dosing.Reading({"fc": Said.value(1.0)}))
    issued = PlanIssued(plan_key="k", plan=plan)
    told = (0, Filled()), (0.25, StartedUp())
    assert dues(journal(*told, (7.9, issued)), 8.0)["shock"].at > FILL + timedelta(days=8.5)
    assert dues(journal(*told, (6.5, issued)), 8.0)["shock"].at <= FILL + timedelta(days=8.5)
    closed = PlanClosed(plan_key="k", how="done")
    assert dues(journal(*told, (7.9, issued), (7.95, closed)), 8.0)["shock"].at <= FILL + timedelta(days=8.5)


def test_what_can_wait_a_few_days_shares_the_day_of_a_test() -> None:
    shocked = Added(product="mps", grams=40, shock=True)
    told = journal(*FRESH, (7.5, shocked), (9.0, reading()))
    found = dues(told, 9.1)
    assert day_of(found["test"]) == 16
    assert found["shock"].at == found["test"].at
    alone = dues(journal(*FRESH, (7.5, shocked), (12.0, reading())), 12.1)
    assert day_of(alone["test"]) == 19
    assert day_of(alone["shock"]) < 19


def test_of_a_household_one_is_reminded_of_each_task() -> None:
    people = (reached(ADA), reached(BO))
    for told, who in ((journal(*FRESH), "ada"), (journal(*FRESH, (1, reading(), BO)), "bo")):
        chosen = caretaker(people, told, FILL + timedelta(days=2))
        assert chosen
        assert chosen.key == who
        for what in NAMES:
            reminded = [one.key for one in people if what in dues_of_household(one, people, told)]
            assert reminded in ([], [who])


def test_a_task_that_is_not_theirs_goes_to_the_other_and_to_nobody_where_there_is_none() -> None:
    not_mine = ReminderAnswered(what="rinse", answer="not_mine")
    people, told = (reached(ADA), reached(BO)), journal(*FRESH, (1, not_mine))
    now = FILL + timedelta(days=2)
    rinser = caretaker(people, told, now, "rinse")
    assert rinser
    assert rinser.key == "bo"
    assert caretaker((reached(ADA),), told, now, "rinse") is None
    assert caretaker((), told, now) is None


def test_who_wants_to_be_reminded_too_is_but_of_doses() -> None:
    keen = reached(BO).model_copy(update={"always_reminded": True})
    people = (reached(ADA), keen)
    mine, both = (dues_of_household(one, people, journal(*FRESH)) for one in people)
    assert both == mine - ADDED


def reached(person: Person) -> Person:
    return person.model_copy(update={"address": Address(channel="rehearsal", chat=person.name)})


def dues_of_household(person: Person, people: Sequence[Person], told: Sequence[Entry]) -> set[str]:
    now = FILL + timedelta(days=2)
    return {due.what for due in reminders_of(person, TUB, DEALER, list(told), now, people)}

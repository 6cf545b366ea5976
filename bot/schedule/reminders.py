"""When a person is reminded of what: computed anew from the journal whenever it grows, never kept beside it.

A reminder that stays without an answer is sent again after a growing gap and then no more; whatever is done begins the
count anew. What the water cannot do without goes on: each week for whoever still tells of soaks and doses, seldom for
whoever says nothing at all.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import get_args

from bot.model.dealer import Dealer
from bot.model.due import Due
from bot.model.fact import (
    Added,
    CartridgeChanged,
    Entry,
    Filled,
    FilterCared,
    ReadingTaken,
    Refilled,
    ReminderAnswered,
    ReminderName,
    Soaked,
    StartedUp,
)
from bot.model.person import Person
from bot.model.tub import Tub
from bot.schedule.care import Care, has_water
from bot.schedule.cases import doses_held
from bot.schedule.journal import facts, in_danger, last, open_cases, open_plan
from bot.schedule.local import allowed, in_quiet_hours, local_day

NAMES: tuple[ReminderName, ...] = get_args(ReminderName)
SILENCE = (2, 5)
"""Days after which an unanswered reminder is sent again; then it is not sent any more."""
SELDOM = (14, 28)
"""Days after which what the water cannot do without is asked for again and again of whoever says nothing."""
GOES_ON: frozenset[ReminderName] = frozenset({"test", "refill"})
"""Tasks that the water cannot do without: who leaves them is asked again, each week while they bathe and dose."""
PLAN_LASTS = timedelta(hours=24)
"""A plan names no dose longer than that after its test."""
LATE = timedelta(hours=1)
"""How late a reminder may leave before it waits for the next fitting hour."""
MERGED_WITHIN = timedelta(hours=1)
"""Reminders of one person that come so close together are one message."""
MOST_A_WEEK, DOSES_A_WEEK = 5, 3
"""Messages that nobody asked for, in any seven days, and those of them that name a dose for days without bathing: two
tests find room beside them. Only a dose is held back.
"""
WEEK = timedelta(days=7)
PART_OF: dict[ReminderName, ReminderName] = {"purge": "refill"}
"""Tasks that nobody hears of who does not want to hear of the other."""
ADDED: frozenset[ReminderName] = frozenset({"dose", "shock"})
"""Tasks that put something into the water."""
CAN_WAIT: frozenset[ReminderName] = frozenset({"shock", "rinse", "soak", "cartridge", "replace", "cover", "winter"})
"""Tasks that a few days don't matter to."""
WAITS = timedelta(days=3)
"""How long such a task waits for the day of a test (common practice)."""


def reminder_key(tub: Tub, person: Person, what: ReminderName) -> str:
    """The key of a due row: setting it again moves it."""
    return f"r.{tub.key}.{person.key}.{what}"


def reminders_of(
    person: Person,
    tub: Tub,
    dealer: Dealer,
    journal: Sequence[Entry],
    now: datetime,
    household: Sequence[Person] = (),
) -> tuple[Due, ...]:
    """What `person` is to be reminded of and when, by the standing journal of the tub. Nothing for people who want or
    get no messages, and nothing before there is water in the tub. Of a `household` one is reminded (`caretaker`), and
    whoever wants to be as well.
    """
    if person.role != "owner" or person.standing != "active" or not has_water(journal):
        return ()
    reminding = _Reminding(Care(person, tub, dealer, journal, now), household or (person,))
    return tuple(
        Due(
            key=reminder_key(tub, person, what),
            dealer=dealer.key,
            kind="reminder",
            what=what,
            person=person.key,
            tub=tub.key,
            at=at,
        )
        for what in NAMES
        if (at := reminding.due(what)) is not None
    )


def next_of(
    what: ReminderName, person: Person, tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime
) -> datetime | None:
    """When `person` is reminded of one task; None if not at all."""
    dues = reminders_of(person, tub, dealer, journal, now)
    return next((due.at for due in dues if due.what == what), None)


def falls_due(
    what: ReminderName, person: Person, tub: Tub, dealer: Dealer, journal: Sequence[Entry], now: datetime
) -> date | None:
    """The day on which a task falls due for `person` by the standing journal alone, whatever was said to its reminders;
    it may lie in the past. None for a task that this tub does not have, or before there is water in it.
    """
    if not has_water(journal):
        return None
    care = Care(person, tub, dealer, journal, now)
    moment = care.first(what)
    return None if moment is None else local_day(moment, care.zone)


TENDS = (ReadingTaken, Added, Soaked, Filled, Refilled, StartedUp, FilterCared, CartridgeChanged)
"""By telling of these somebody shows that they care for the tub."""


def caretaker(
    household: Sequence[Person], journal: Sequence[Entry], now: datetime, what: ReminderName | None = None
) -> Person | None:
    """The one of a household who is reminded: who last told of the tub, else who came to it first. Whoever gets no
    messages, is away or said that the task is not theirs leaves it to the others; None where there is nobody.
    """
    there = [one for one in household if one.role == "owner" and one.standing == "active" and one.address]
    willing = [one for one in there if what is None or not _is_not_theirs(one, what, journal)]
    home = [one for one in willing if one.paused_until is None or one.paused_until <= now]
    may = {one.key: one for one in home or willing}
    tended = (entry.person for entry in reversed(journal) if isinstance(entry.fact, TENDS) and entry.person in may)
    return may.get(next(tended, None) or next(iter(may), ""))


def _is_not_theirs(person: Person, what: ReminderName, journal: Sequence[Entry]) -> bool:
    said = facts(journal, ReminderAnswered, lambda fact: fact.what == what and fact.answer != "sent")
    mine = [fact.answer for entry, fact in said if entry.person == person.key]
    return bool(mine) and mine[-1] == "not_mine"


@dataclass(frozen=True)
class _Reminding:
    care: Care
    household: Sequence[Person]

    def due(self, what: ReminderName) -> datetime | None:
        care = self.care
        if not self._is_for_them(what):
            return None
        planned = self._planned(what)
        if planned is None:
            return None
        paused = care.person.paused_until
        if paused and planned < paused:
            planned = care.fits(local_day(paused, care.zone), not_before=paused)
        if what == "shock" and planned <= care.now and self._water_is_worked_on():
            return care.fits(local_day(care.now, care.zone) + timedelta(days=1))
        leaves = self._leaves(self._beside_a_test(what, planned))
        if what in ADDED and self._is_untested(leaves):
            return None
        return self._within_the_week(leaves) if what == "dose" else leaves

    def _is_untested(self, at: datetime) -> bool:
        """Whether the last test is too old by then for a dose that rests on what is known of the water."""
        tested = self.care.done("test")
        if self.care.outlook is None or tested is None:
            return False
        return at >= tested + timedelta(days=self.care.dealer.intervals.test)

    def _beside_a_test(self, what: ReminderName, planned: datetime) -> datetime:
        """`planned`, or for what a few days don't matter to, the day of the test near it: one message fewer."""
        if what not in CAN_WAIT or planned <= self.care.now:
            return planned
        test = self._planned("test")
        near = test is not None and test > self.care.now and timedelta() <= test - planned <= WAITS
        return test if test and near else planned

    def _is_for_them(self, what: ReminderName) -> bool:
        """Whether this is the one who is reminded, or wants to be too; but two who are told of one dose would pour
        two.
        """
        care = self.care
        if any(_is_not_theirs(care.person, each, care.journal) for each in {what, PART_OF.get(what, what)}):
            return False
        if care.person.always_reminded and what not in ADDED:
            return True
        chosen = caretaker(self.household, care.journal, care.now, what)
        return chosen is None or chosen.key == care.person.key

    def _water_is_worked_on(self) -> bool:
        """Whether a plan from today is open, staff decide on doses, or the water is not fit: a shock by the calendar is
        no help then.
        """
        plan = open_plan(self.care.journal)
        if plan and self.care.now - plan[0].at < PLAN_LASTS:
            return True
        if doses_held(self.care.journal):
            return True
        return any(fact.klass in ("danger", "water") for _, fact in open_cases(self.care.journal))

    def _planned(self, what: ReminderName) -> datetime | None:
        """When the reminder is due by the calendar, what was answered to it and how often it was sent."""
        care, since = self.care, self.care.since(what)
        first = care.first(what)
        if first is None:
            return None
        later = self._put_off(what, since)
        if later and later[1].until:
            since = later[0].at
            first = care.fits(local_day(later[1].until, care.zone), not_before=later[0].at)
        sent = [entry.at for entry, _ in self._mine(what, "sent") if entry.at > since]
        return self._again(what, sent) if sent else first

    def _again(self, what: ReminderName, sent: list[datetime]) -> datetime | None:
        """When to remind again after reminders that nobody answered."""
        newest = local_day(max(sent), self.care.zone)
        days: list[date] = list(self.care.first_week(newest))[:1] if what == "test" else []
        if len(sent) <= len(SILENCE):
            days.append(newest + timedelta(days=SILENCE[len(sent) - 1]))
        elif what in GOES_ON:
            seldom = SELDOM[min(len(sent) - len(SILENCE), len(SELDOM)) - 1]
            days.append(newest + (WEEK if self._speaks(since=max(sent)) else timedelta(days=seldom)))
        return self.care.fits(min(days)) if days else None

    def _speaks(self, since: datetime) -> bool:
        """Whether this person has told of a soak or a dose since then."""
        told = (last(self._own, kind) for kind in (Added, Soaked))
        return any(found is not None and found[0].at > since for found in told)

    @property
    def _own(self) -> list[Entry]:
        return [entry for entry in self.care.journal if entry.person == self.care.person.key]

    def _within_the_week(self, planned: datetime) -> datetime | None:
        """A dose of the routine, not sooner than the week has room for it; none once a test comes before it."""
        care = self.care
        messages = sorted({entry.at for entry, _ in self._mine(None, "sent")})
        doses = sorted({entry.at for entry, _ in self._mine("dose", "sent")})
        for sent, most in ((messages, MOST_A_WEEK), (doses, DOSES_A_WEEK)):
            recent = [at for at in sent if at > planned - WEEK]
            if len(recent) >= most:
                free = recent[-most] + WEEK
                planned = max(planned, care.fits(local_day(free, care.zone), not_before=free))
        test = self._planned("test")
        return None if test is not None and test <= planned + LATE else planned

    def _mine(self, what: ReminderName | None, *answers: str) -> list[tuple[Entry, ReminderAnswered]]:
        said = facts(
            self.care.journal, ReminderAnswered, lambda fact: what in (None, fact.what) and fact.answer in answers
        )
        return [(entry, fact) for entry, fact in said if entry.person == self.care.person.key]

    def _put_off(self, what: ReminderName, since: datetime) -> tuple[Entry, ReminderAnswered] | None:
        """When somebody of the household put a task off."""
        return last(
            [entry for entry in self.care.journal if entry.at >= since],
            ReminderAnswered,
            lambda fact: fact.what == what and fact.answer == "later",
        )

    def _leaves(self, planned: datetime) -> datetime:
        """`planned`, out of the quiet hours; one that was missed waits for the next fitting hour."""
        care = self.care
        planned = allowed(planned, care.person.quiet, care.zone)
        if planned > care.now:
            return planned
        held = in_danger(care.journal) or in_quiet_hours(care.now, care.person.quiet, care.zone)
        today = local_day(care.now, care.zone)
        for chance in (planned, care.fits(today)):
            if care.now - LATE < chance and (chance > care.now or not held):
                return chance
        return care.fits(today + timedelta(days=1))

"""A dealer's house with several owners, in which the process dies and the channel fails when it is told to.

What must hold at every moment is looked at when it happens: as a step is decided, and as a message reaches a phone.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from typing import Literal

from bot.channels.rehearsal import RehearsalChannel
from bot.model.event import Arrival
from bot.model.fact import (
    CaseCleared,
    CaseGivenBack,
    CaseReopened,
    CaseTaken,
    Entry,
    PlanClosed,
    PlanIssued,
    ReadingTaken,
)
from bot.model.known import Known, Outcome
from bot.model.message import Delivered, Parcel, Refusal
from bot.model.person import Person
from bot.model.zones import zone
from bot.schedule.cases import case_states
from bot.schedule.journal import facts, in_danger, standing
from bot.schedule.local import in_quiet_hours
from tests.talk.world import HOUSE, World

SPRING = datetime(2027, 3, 12, 15, 0, tzinfo=UTC)
"""Two days before clocks change in Chicago, two weeks before they do in Paris."""
Where = Literal["deciding", "sending"]
OWNERS = ("Ada", "Mo", "Bo")
STAFF = ("Tom", "Una", "Dee")


class Died(BaseException):
    """The process is gone."""


@dataclass
class Fuse:
    """The process dies at that moment, after it has passed so often."""

    where: Where
    passes: int

    def burn(self, where: Where) -> None:
        if where == self.where:
            self.passes -= 1
            if self.passes < 0:
                raise Died


class _FailingChannel(RehearsalChannel):
    town: "Neighbourhood"

    async def send(self, parcel: Parcel) -> Delivered | Refusal:
        if self.town.refusals:
            self.town.refusals -= 1
            return Refusal(kind="later", why="too many requests", seconds=self.town.refuses_for)
        return await super().send(parcel)


class Neighbourhood(World):
    """Ada and Mo share a tub, Bo has one, Eve has an invite, Zed has nothing; Tom, Una and Dee are the dealer's."""

    def __init__(self) -> None:
        self.fuse: Fuse | None = None
        self.refusals, self.refuses_for = 0, 60.0
        self.broken: list[str] = []
        self._before: list[tuple[int, Entry]] = []
        self._erased: set[str] = set()
        super().__init__(SPRING, quiet={"start": "20:00", "end": "09:00"})
        ada = self.owner("Ada", person={"zone": "America/Chicago"})
        self.owner("Mo", tub=ada, person={"zone": "America/Chicago"})
        self.owner("Bo", sanitizer="bromine", person={"zone": "Europe/Paris"})
        self.stranger("Eve", invite="let-eve-in", volume=900.0, sanitizer="chlorine")
        self.stranger("Zed")
        for name in STAFF:
            self.staff(name, "dealer" if name == "Dee" else "technician")

    # -- what goes wrong

    def _channel(self) -> RehearsalChannel:
        channel = _FailingChannel(self.phones, self._delivered, self.folder)
        channel.town = self
        return channel

    def survives(self, act: Callable[[], object]) -> None:
        """Do something; where the process dies over it, it is started again on the same file."""
        try:
            act()
        except Died:
            self.restart()

    def restart(self) -> None:
        """Drop everything in memory and begin again from the store, as a service does."""
        self.fuse = None
        self.do(self.store.close())
        self._open()
        self.do(self.store.take_over())
        self.do(self.house.settle_down(self.clock.now()))

    def sleeps(self, span: timedelta) -> None:
        """The machine sleeps: the clock is later at once, and nothing happened meanwhile."""
        self.clock.pass_time(span)
        self.do(self.house.settle_down(self.clock.now()))

    # -- what is looked at as it happens

    def _step(self, known: Known, arrival: Arrival, now: datetime) -> Outcome:
        if self.fuse:
            self.fuse.burn("deciding")
        outcome = super()._step(known, arrival, now)
        journal = standing((*known.journal, *outcome.entries))
        if any(message.dose for message in outcome.messages) and in_danger(journal):
            self.broken.append("a dose was named while a danger is open")
        return outcome

    async def _delivered(self, parcel: Parcel) -> None:
        await super()._delivered(parcel)
        await self._look_at(parcel)
        if self.fuse:
            self.fuse.burn("sending")

    async def _look_at(self, parcel: Parcel) -> None:
        person = await self.store.person(HOUSE, parcel.message.to)
        if person is None or person.role != "owner":
            return
        message, now = parcel.message, self.clock.now()
        said = f"{parcel.address.chat} got {message.text[:60]!r} at {now}"
        if message.lane == "reminder":
            if in_quiet_hours(now, person.quiet, zone(person.zone)):
                self.broken.append(f"a reminder in quiet hours: {said}")
            if person.standing != "active" or (person.paused_until and person.paused_until > now):
                self.broken.append(f"a reminder to somebody who is {person.standing}, or away: {said}")
        if message.dose and in_danger(await self._journal_of(person)):
            self.broken.append(f"a dose arrived while a danger is open: {said}")

    async def _journal_of(self, person: Person) -> tuple[Entry, ...]:
        tub = f"t-{'ada' if person.name == 'Mo' else person.name.lower()}"
        return standing(entry for _, entry in await self.store.journal(HOUSE, tub=tub))

    # -- what is looked at after each thing that happened

    def check_all(self) -> None:
        """Everything that must hold between two things that happen."""
        assert not self.broken, self.broken
        written = self.do(self.store.journal(HOUSE))
        entries = standing(entry for _, entry in written)
        self._only_grows(written)
        one_open_plan_a_tub(entries)
        one_holder_a_case(entries)
        for name, phone in self.phones.items():
            rounds = [message.round for message in phone.messages if message.round]
            assert len(rounds) == len(set(rounds)), f"{name} got a round twice"
        for name, actor in self.actors.items():
            if actor.acted:
                every_conversation_can_go_on(name, actor.known)

    def _only_grows(self, written: list[tuple[int, Entry]]) -> None:
        """The journal only grows; when somebody is erased, their words go, and what the tub went through stays."""
        owners = [owned.person for owned in self.do(self.store.owners(HOUSE))]
        erased = {person.key for person in owners if person.standing == "erased"}
        before, self._before = self._before, written
        if erased != self._erased:
            self._erased = erased
            went_through = {number for number, entry in before if isinstance(entry.fact, PlanIssued | ReadingTaken)}
            assert went_through <= {number for number, _ in written}
        else:
            assert written[: len(before)] == before, "the journal has changed"


def one_open_plan_a_tub(entries: Sequence[Entry]) -> None:
    """Of the plans issued for a tub one at most is open."""
    closed = {(entry.tub, fact.plan_key) for entry, fact in facts(entries, PlanClosed)}
    issued = [(entry.tub, fact.plan_key) for entry, fact in facts(entries, PlanIssued)]
    tubs = [tub for tub, plan in issued if (tub, plan) not in closed]
    assert len(set(issued)) == len(issued), f"a plan was issued twice: {issued}"
    assert len(set(tubs)) == len(tubs), f"more than one plan is open for one of {tubs}"


def one_holder_a_case(entries: Sequence[Entry]) -> None:
    """A case is taken from nobody or, by its name, from whoever has it; never twice by the same."""
    holders: dict[str, str] = {}
    for entry in entries:
        match entry.fact:
            case CaseTaken(case=case, by=by):
                assert holders.get(case) != by, f"{by} took {case} twice"
                holders[case] = by
            case CaseGivenBack(case=case) | CaseReopened(case=case) | CaseCleared(case=case):
                holders.pop(case, None)
    assert {state.fact.case: state.by for state in case_states(entries) if state.by and not state.closed} == holders


def every_conversation_can_go_on(name: str, known: Known) -> None:
    """Each is open once; what one waits for will come; nobody who said stop, went or was forgotten has a reminder."""
    opened = known.conversation.flows
    assert len({one.flow for one in opened}) == len(opened), f"{name} has {[one.flow for one in opened]}"
    assert len({one.serial for one in opened}) == len(opened)
    dues = {due.key for due in known.dues}
    lost = [one.flow for one in opened if one.waits_for and one.waits_for not in dues]
    assert not lost, f"{name} waits in {lost}, and nothing ends it"
    if known.person and known.person.standing in ("stopped", "erased"):
        mine = [due.what for due in known.dues if due.person == known.person.key and due.kind == "reminder"]
        assert not mine, f"{name} is {known.person.standing} and has reminders of {mine}"

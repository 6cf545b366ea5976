"""Reading a journal for its cases: who has one, what was said in it, whether doses are held."""

from collections.abc import Sequence
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from statistics import median

from bot.model.event import File
from bot.model.fact import (
    CaseCleared,
    CaseGivenBack,
    CaseHelped,
    CaseNoted,
    CaseOpened,
    CaseReopened,
    CaseSaid,
    CaseTaken,
    DosesHeld,
    Entry,
    PlanSent,
    TestWanted,
)
from bot.schedule.journal import in_danger, open_plan

MAY_COME_BACK = timedelta(days=7)
"""How long after its end a case is opened again rather than a new one (common practice)."""

BY_STAFF = "by_staff"
"""The reason of a case that the dealer's people opened: its owner does not wait for anything yet."""


@dataclass
class CaseState:
    """How a case stands. `by` is the key of the person who has it, since `taken`."""

    entry: Entry
    fact: CaseOpened
    by: str | None = None
    taken: datetime | None = None
    in_group: bool = False
    """Whether it was taken in the group of the dealer's people."""
    waits: datetime | None = None
    """Since when its owner has been waiting for an answer; None while it is the owner's turn."""
    answered: datetime | None = None
    """When staff answered first."""
    held: bool = False
    """Whether staff want no dose named until they say otherwise."""
    decides: bool = False
    """Whether whoever has the case decides on the doses: they sent a plan, or asked for a test in order to."""
    holds: datetime | None = None
    """Since when doses are held, or somebody decides on them."""
    sent: str | None = None
    """The plan that they sent last, if no hold came after it."""
    closed: datetime | None = None
    said: list[CaseSaid] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    ended: str = ""
    """What was noted when it was closed."""

    @property
    def files(self) -> list[File]:
        """What the owner sent."""
        return [file for said in self.said if said.side == "owner" for file in said.files]


def case_states(entries: Sequence[Entry]) -> list[CaseState]:
    """Every case of a standing journal, oldest first."""
    states: dict[str, CaseState] = {}
    for entry in entries:
        if isinstance(entry.fact, CaseOpened):
            states[entry.fact.case] = CaseState(
                entry, entry.fact, waits=None if BY_STAFF in entry.fact.reasons else entry.at
            )
        elif (state := states.get(getattr(entry.fact, "case", ""))) is not None:
            _follow(state, entry)
    return list(states.values())


def _follow(state: CaseState, entry: Entry) -> None:
    _change(state, entry)
    state.holds = (state.holds or entry.at) if state.held or state.decides else None


def _change(state: CaseState, entry: Entry) -> None:
    match entry.fact:
        case CaseTaken(by=by, in_group=in_group):
            state.by, state.taken, state.in_group = by, entry.at, in_group
        case CaseGivenBack():
            state.by = state.taken = None
            state.decides = False
        case CaseCleared(note=note):
            state.ended = note
            state.closed, state.held, state.decides, state.sent = entry.at, False, False, None
            state.waits = None
        case CaseReopened():
            state.closed = state.by = state.taken = None
            state.waits = entry.at
        case DosesHeld(held=held):
            state.held, state.decides = held, False
            state.sent = None if held else state.sent
        case PlanSent(plan_key=key):
            state.sent, state.decides = key, True
            _answer(state, entry.at)
        case TestWanted():
            state.decides = state.decides or state.fact.klass != "water"
            _answer(state, entry.at)
        case CaseNoted(text=text):
            state.notes.append(text)
        case CaseSaid():
            state.said.append(entry.fact)
            if entry.fact.side == "staff":
                _answer(state, entry.at)
            else:
                state.waits = state.waits or entry.at


def _answer(state: CaseState, at: datetime) -> None:
    state.waits, state.answered = None, state.answered or at


def case_named(entries: Sequence[Entry], name: str) -> CaseState | None:
    """The case of that key."""
    return next((state for state in case_states(entries) if state.fact.case == name), None)


def open_state(entries: Sequence[Entry], person: str) -> CaseState | None:
    """The open case of a person that what they write belongs to: danger first, then the newest that somebody has."""
    mine = [state for state in case_states(entries) if state.closed is None and state.entry.person == person]
    return max(
        mine,
        key=lambda state: (state.fact.klass == "danger", state.by is not None, state.entry.at),
        default=None,
    )


def lately_closed(entries: Sequence[Entry], person: str, now: datetime) -> CaseState | None:
    """The person's case that ended last and may still come back."""
    mine = [
        state
        for state in case_states(entries)
        if state.closed and state.entry.person == person and now - state.closed <= MAY_COME_BACK
    ]
    return max(mine, key=lambda state: state.closed or now, default=None)


def doses_held(entries: Sequence[Entry]) -> bool:
    """Whether the bot may compute no dose: a danger is open, or the dealer's people decide."""
    return in_danger(entries) or any(_holds(state) for state in case_states(entries))


def dose_withheld(entries: Sequence[Entry]) -> bool:
    """Whether no dose of the open plan may be named. A plan that the dealer's people sent is what they decided."""
    plan = open_plan(entries)
    sent = plan[1].plan_key if plan else ""
    return in_danger(entries) or any(_holds(state) and state.sent != sent for state in case_states(entries))


def _holds(state: CaseState) -> bool:
    return state.closed is None and (state.held or state.decides)


@dataclass(frozen=True)
class Figures:
    """How the dealer's people keep up: what is open now, and how quick they were since some time."""

    open: int
    free: int
    """Open ones that nobody has."""
    waiting: int
    """Open ones whose owner waits for an answer."""
    longest: timedelta | None
    """How long the one who waits longest has been waiting."""
    opened: int
    closed: int
    helped: int
    first_answer: timedelta | None
    """Median from opening to the first answer of those opened."""
    closing: timedelta | None
    """Median from opening to the end of those closed."""


def figures(entries: Sequence[Entry], now: datetime, since: datetime) -> Figures:
    """The figures of a dealer's cases. `entries` may hold those of older ones that are still open."""
    states = case_states(entries)
    still = [state for state in states if state.closed is None]
    opened = [state for state in states if state.entry.at >= since]
    closed = [(state, state.closed) for state in states if state.closed and state.closed >= since]
    helped = {entry.fact.case for entry in entries if isinstance(entry.fact, CaseHelped) and entry.at >= since}
    waits = [now - state.waits for state in still if state.waits]
    return Figures(
        open=len(still),
        free=sum(state.by is None for state in still),
        waiting=len(waits),
        longest=max(waits, default=None),
        opened=len(opened),
        closed=len(closed),
        helped=len(helped),
        first_answer=_median([state.answered - state.entry.at for state in opened if state.answered]),
        closing=_median([end - state.entry.at for state, end in closed]),
    )


def _median(spans: Sequence[timedelta]) -> timedelta | None:
    return timedelta(seconds=median(span.total_seconds() for span in spans)) if spans else None

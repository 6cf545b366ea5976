"""Reading a journal: what stands after corrections, what happened last, what is open."""

from collections.abc import Callable, Iterable, Sequence
from datetime import datetime
from typing import TypeVar

import dosing
from bot.model.fact import (
    Added,
    CaseCleared,
    CaseOpened,
    CaseReopened,
    Corrected,
    Entry,
    Filled,
    Plain,
    PlanClosed,
    PlanIssued,
    ReadingTaken,
    Refilled,
    Soaked,
    StepPassed,
)

F = TypeVar("F")


def standing(entries: Iterable[Entry]) -> tuple[Entry, ...]:
    """The entries as they stand: a corrected one carries its correction, a withdrawn one is left out."""
    kept: dict[str, Entry] = {}
    original: dict[str, str] = {}
    for entry in entries:
        if not isinstance(entry.fact, Corrected):
            kept[entry.key] = entry
            continue
        root = original.get(entry.fact.of, entry.fact.of)
        original[entry.key] = root
        if entry.fact.fact is None:
            kept.pop(root, None)
        elif root in kept:
            kept[root] = kept[root].model_copy(update={"fact": entry.fact.fact})
    return tuple(sorted(kept.values(), key=lambda entry: entry.at))


def facts(
    entries: Iterable[Entry], kind: type[F], where: Callable[[F], bool] = lambda _: True
) -> list[tuple[Entry, F]]:
    """The entries of one kind with their facts, oldest first."""
    return [(entry, entry.fact) for entry in entries if isinstance(entry.fact, kind) and where(entry.fact)]


def last(
    entries: Sequence[Entry], kind: type[F], where: Callable[[F], bool] = lambda _: True
) -> tuple[Entry, F] | None:
    """The newest entry of a kind and its fact."""
    return next(
        ((entry, entry.fact) for entry in reversed(entries) if isinstance(entry.fact, kind) and where(entry.fact)),
        None,
    )


def last_at(entries: Sequence[Entry], kind: type[F], where: Callable[[F], bool] = lambda _: True) -> datetime | None:
    """When something happened last."""
    found = last(entries, kind, where)
    return found[0].at if found else None


def filled_at(entries: Sequence[Entry]) -> datetime | None:
    """When the water now in the tub was filled in: the last fill or whole refill."""
    whole = [entry.at for entry, _ in facts(entries, Filled)]
    whole += [entry.at for entry, fact in facts(entries, Refilled) if fact.litres is None]
    return max(whole, default=None)


def open_plan(entries: Sequence[Entry]) -> tuple[Entry, PlanIssued] | None:
    """The plan that was issued and not closed, if there is one."""
    closed = {fact.plan_key for _, fact in facts(entries, PlanClosed)}
    return last(entries, PlanIssued, lambda fact: fact.plan_key not in closed)


def open_cases(entries: Sequence[Entry]) -> list[tuple[Entry, CaseOpened]]:
    """The cases that nobody has cleared, or that came back since, oldest first."""
    cleared: set[str] = set()
    for entry in entries:
        match entry.fact:
            case CaseCleared(case=case):
                cleared.add(case)
            case CaseReopened(case=case):
                cleared.discard(case)
    return facts(entries, CaseOpened, lambda fact: fact.case not in cleared)


def in_danger(entries: Sequence[Entry]) -> bool:
    """Whether a danger case is open: every flow is paused and doses are withheld."""
    return any(fact.klass == "danger" for _, fact in open_cases(entries))


def known_to_dosing(
    entries: Sequence[Entry], now: datetime, *, since: datetime | None = None
) -> tuple[dosing.Past, ...]:
    """The journal as `dosing` reads it: tests, additions, water changes, soaks and air, since the last whole fill or
    since a moment before it.
    """
    airing = _airing(entries)

    def hours(entry: Entry) -> float:
        return max(0.0, (now - entry.at).total_seconds() / 3600.0)

    def past(entry: Entry, fact: Plain | Corrected) -> dosing.Past | None:
        match fact:
            case ReadingTaken(values=values, method=method, source=False):
                return dosing.Reading(values=values, method=method, hours_ago=hours(entry))
            case Added(substances=substances) if substances:
                return dosing.Addition(substances=substances, hours_ago=hours(entry))
            case Filled() | Refilled():
                litres = fact.litres if isinstance(fact, Refilled) else None
                return dosing.Refill(litres=litres, hours_ago=hours(entry), source=None)
            case Soaked(bathers=bathers, minutes=minutes):
                return dosing.Soak(bathers=bathers, minutes=minutes, hours_ago=hours(entry))
            case StepPassed(plan_key=plan, step=step, done=True) if (plan, step) in airing:
                ran = min(airing[plan, step], 60.0 * hours(entry))
                return dosing.Soak(bathers=0, minutes=ran, hours_ago=max(0.0, hours(entry) - ran / 60.0))
        return None

    start = since or filled_at(entries)
    recent = (entry for entry in entries if start is None or entry.at >= start)
    return tuple(found for entry in recent if (found := past(entry, entry.fact)) is not None)


def _airing(entries: Sequence[Entry]) -> dict[tuple[str, str], float]:
    """Minutes of jets with air, by plan and step."""
    return {
        (issued.plan_key, step.key): float(step.minutes or 0)
        for _, issued in facts(entries, PlanIssued)
        for step in issued.plan.steps
        if step.action == "aerate"
    }

"""Reading a journal for how its plans went: whether they did what they predicted, and whether tests made sense."""

from collections.abc import Sequence
from datetime import timedelta

from bot.model.fact import Added, Entry, PlanClosed, PlanIssued, ReadingTaken
from bot.schedule.journal import facts
from dosing import Plan, Reading, Scale

SOON = timedelta(hours=3)
"""A test tells of a plan's doses that long after the last of them: later, bathers and air have had their say."""
TOLD = {"ph": 0.2, "ta": 15.0, "fc": 1.0, "br": 1.0, "ch": 20.0}
"""What a plan must be meant to change of a reading before that can be told from a test at all."""
RECENT = timedelta(days=2)
"""Doubted tests that lie further apart are two stories (common practice)."""


def failed_plans(entries: Sequence[Entry], scale: Scale) -> int:
    """How many plans in a row, up to the newest one that was carried out and tested, did less than they should have."""
    count = 0
    done = {fact.plan_key for _, fact in facts(entries, PlanClosed) if fact.how == "done"}
    for entry, issued in reversed(facts(entries, PlanIssued, lambda fact: fact.plan_key in done)):
        test = _test_after(entries, entry, issued)
        if test is None:
            continue
        if not _failed(issued.plan, test, scale):
            break
        count += 1
    return count


def _test_after(entries: Sequence[Entry], plan: Entry, issued: PlanIssued) -> ReadingTaken | None:
    """The first test after the last dose of a plan, if it came soon and the doses went in as named."""
    doses = facts(entries, Added, lambda fact: fact.plan_key == issued.plan_key)
    named = {step.key: step.grams or 0.0 for step in issued.plan.steps if step.action == "add"}
    went_in = {fact.step: fact.grams or 0.0 for _, fact in doses}
    if not named or any(went_in.get(key, 0.0) < 0.75 * grams for key, grams in named.items()):
        return None
    last = max(entry.at for entry, _ in doses)
    later = (
        fact
        for entry, fact in facts(entries, ReadingTaken, lambda fact: not fact.source)
        if last <= entry.at <= last + SOON and entry.at > plan.at
    )
    return next(later, None)


def _failed(plan: Plan, test: ReadingTaken, scale: Scale) -> bool:
    """Whether a reading lies wholly on the side of what it was before, beyond all that was predicted of it."""
    read = Reading(values=test.values, method=test.method).intervals(scale)
    for key, least in TOLD.items():
        if key not in read or key not in plan.predicted or key not in plan.water:
            continue
        before, after = plan.water[key], plan.predicted[key]
        if after.mid >= before.mid + least and read[key].high < after.low:
            return True
        if after.mid <= before.mid - least and read[key].low > after.high:
            return True
    return False


def doubted_tests(entries: Sequence[Entry]) -> int:
    """How many tests in a row, up to the newest one, could not be believed so that nothing followed from them."""
    count = 0
    newest = None
    for entry, issued in reversed(facts(entries, PlanIssued)):
        plan = issued.plan
        newest = newest or entry.at
        if plan.status != "ask" or not plan.doubts or newest - entry.at > RECENT:
            break
        count += 1
    return count

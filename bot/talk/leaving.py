"""Leaving and coming back: no message is sent to somebody who said stop, until they say start."""

from bot.model.fact import PlanClosed, Resumed, Stopped
from bot.schedule.journal import open_plan
from bot.talk import stack
from bot.talk.draft import Draft
from bot.talk.overview import care_menu
from bot.talk.words import line

CARRY_OUT = frozenset({"weekly_test", "start_up", "soaked", "rest_day", "holiday_dose"})
"""Conversations that carry out a plan."""


def stop(draft: Draft) -> None:
    """End every message at once: open conversations and their timers too. No question is asked about it."""
    while stack.top(draft):
        _close(draft)
    draft.record(Stopped())
    draft.change_person(standing="stopped")
    draft.say(line("stop.done"))


def start(draft: Draft) -> None:
    """Begin again for somebody who had stopped; the welcome where it is still owed, help for everybody else."""
    assert draft.person
    stopped = draft.person.standing == "stopped"
    if stopped:
        draft.change_person(standing="active")
        draft.record(Resumed())
    said = (line("stop.back"),) if stopped else ()
    if draft.person.agreed_at is None and stack.top(draft) is None:
        stack.begin(draft, "welcome", before=said)
    elif stack.top(draft):
        stack.resume(draft, said)
    elif stopped:
        draft.say(line("stop.back"), care_menu(draft))
    else:
        draft.say(line("help"), care_menu(draft))


def cancel(draft: Draft) -> None:
    """Close what is talked about now; what was recorded stays."""
    if stack.top(draft) is None:
        draft.say(line("talk.nothing_open"), care_menu(draft))
        return
    _close(draft)
    stack.resume(draft, (line("talk.cancelled"),))


def _close(draft: Draft) -> None:
    """Close the conversation on top. A plan that it was carrying out is given up, so that nobody waits for it."""
    opened = stack.top(draft)
    assert opened
    assert draft.person
    plan = open_plan(draft.journal)
    if plan and opened.flow in CARRY_OUT and plan[0].person == draft.person.key:
        draft.record(PlanClosed(plan_key=plan[1].plan_key, how="abandoned"))
    stack.drop_top(draft)

"""Leaving and coming back: no message is sent to somebody who said stop, until they say start."""

from bot.model.fact import Resumed, Stopped
from bot.talk import stack
from bot.talk.draft import Draft
from bot.talk.overview import care_menu
from bot.talk.words import line


def stop(draft: Draft) -> None:
    """End every message at once: open conversations and their timers too. No question is asked about it."""
    stack.drop_all(draft)
    draft.record(Stopped())
    draft.change_person(standing="stopped")
    draft.say(line("stop.done"))


def start(draft: Draft) -> None:
    """Begin again for somebody who had stopped; help for everybody else."""
    if draft.person and draft.person.standing == "stopped":
        draft.change_person(standing="active")
        draft.record(Resumed())
        draft.say(line("stop.back"), care_menu(draft))
    else:
        draft.say(line("help"), care_menu(draft))


def cancel(draft: Draft) -> None:
    """Close what is talked about now; what was recorded stays."""
    if stack.top(draft) is None:
        draft.say(line("talk.nothing_open"), care_menu(draft))
        return
    stack.drop_top(draft)
    stack.resume(draft, (line("talk.cancelled"),))

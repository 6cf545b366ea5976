"""What may be said at any time, whatever is open."""

from collections.abc import Callable

from bot.schedule.journal import in_danger
from bot.talk import leaving, stack
from bot.talk.draft import Draft
from bot.talk.overview import care_menu, history, my_tub
from bot.talk.words import languages, line

FLOW_OF = {
    "test": "weekly_test",
    "fill": "first_fill",
    "startup": "start_up",
    "pause": "pause",
    "erase": "erase",
    "person": "ask_a_person",
    "soaked": "soaked",
    "shocked": "shocked",
    "refill": "refill",
    "quiet": "quiet_hours",
    "reminders": "reminders",
    "units": "units",
    "language": "language",
    "settings": "settings",
}
"""Commands that begin a conversation of their own."""

DOSES = frozenset({"weekly_test", "start_up", "refill"})
"""Flows that may end in a dose: closed while a danger is open."""


def obey(draft: Draft, name: str) -> bool:
    """Do what the command says; False if there is no such command."""
    if name.startswith("language:"):
        return _language(draft, name.partition(":")[2])
    if name in FLOW_OF:
        if FLOW_OF[name] in DOSES and in_danger(draft.journal):
            draft.say(line("danger.paused"))
        else:
            stack.begin(draft, FLOW_OF[name])
        return True
    if name not in AT_ONCE:
        return False
    AT_ONCE[name](draft)
    return True


def _open(draft: Draft) -> None:
    if in_danger(draft.journal):
        draft.say(line("danger.paused"))
    elif stack.top(draft):
        stack.resume(draft)
    else:
        draft.say(line("talk.nothing_open"), care_menu(draft))


def _when_not_in_danger(doing: Callable[[Draft], None]) -> Callable[[Draft], None]:
    def guarded(draft: Draft) -> None:
        if in_danger(draft.journal):
            draft.say(line("danger.paused"))
        else:
            doing(draft)

    return guarded


def _help(draft: Draft) -> None:
    draft.say(line("help"), care_menu(draft))


def _language(draft: Draft, wanted: str) -> bool:
    if wanted not in languages():
        draft.say(line("language.missing", languages=tuple(line(f"language.{name}") for name in languages())))
        return True
    draft.change_person(language=wanted)
    stack.resume(draft, (line("language.changed"),))
    return True


AT_ONCE: dict[str, Callable[[Draft], None]] = {
    "open": _open,
    "back": _when_not_in_danger(stack.back),
    "restart_flow": _when_not_in_danger(stack.start_over),
    "tub": my_tub,
    "history": history,
    "help": _help,
    "start": leaving.start,
    "stop": leaving.stop,
    "cancel": leaving.cancel,
}

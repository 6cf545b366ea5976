"""What may be said at any time, whatever is open."""

from collections.abc import Callable
from datetime import timedelta

from bot.model.fact import Added, ReadingTaken
from bot.schedule.journal import in_danger, last, last_at, open_plan
from bot.talk import leaving, stack
from bot.talk.alarm import sound_alarm
from bot.talk.draft import Draft
from bot.talk.flows.pads import READINGS
from bot.talk.overview import calendar, care_menu, chart, history, my_tub
from bot.talk.season import my_card
from bot.talk.words import Words, languages, line

FLOW_OF = {
    "test": "weekly_test",
    "fill": "first_fill",
    "startup": "start_up",
    "pause": "pause",
    "erase": "erase",
    "export": "my_data",
    "person": "ask_a_person",
    "soaked": "soaked",
    "new_strips": "new_strips",
    "better_ph": "better_ph",
    "shocked": "shocked",
    "dose": "rest_day",
    "refill": "refill",
    "quiet": "quiet_hours",
    "reminders": "reminders",
    "units": "units",
    "language": "language",
    "settings": "settings",
    "household": "household",
    "tubs": "tubs",
    "hand_on": "hand_on",
}
"""Commands that begin a conversation of their own."""

GO_ON = frozenset({"fill", "startup", "refill"})
"""Commands that go on with their conversation where it is open: hours went into it. "Start over" begins it anew."""

WORK = frozenset({"weekly_test", "start_up", "refill", "soaked"})
"""Flows that say what goes into the water now; a test asked for meanwhile would cut their waits short."""
DOSES = WORK | {"rest_day"}
"""Flows that may end in a dose: closed while a danger is open."""


MENU = ("test", "bathed", "dose", "card", "calendar", "chart", "history", "tub", "pause", "person", "help", "stop")
"""Commands that an app shows in its menu, under these names in every language."""


def menu() -> dict[str, list[tuple[str, str]]]:
    """What an app's menu shows, by language: each command and what it does in a few words."""
    return {language: [(name, Words(language).text(line(f"menu.{name}"))) for name in MENU] for language in languages()}


def group_menu() -> dict[str, list[tuple[str, str]]]:
    """What an app's menu shows in a group, by language."""
    return {language: [("cases", Words(language).text(line("menu.cases")))] for language in languages()}


def obey(draft: Draft, name: str) -> bool:
    """Do what the command says; False if there is no such command."""
    if name.startswith("language:"):
        return _language(draft, name.partition(":")[2])
    if name.partition(":")[0] == "danger":
        return sound_alarm(draft, name.partition(":")[2])
    if name in FLOW_OF:
        if FLOW_OF[name] in DOSES and in_danger(draft.journal):
            draft.say(line("danger.paused"))
        elif name == "test" and _is_dosing(draft):
            stack.resume(draft, (line("test.under_way"),))
        elif name in GO_ON and stack.take_up(draft, FLOW_OF[name]):
            stack.resume(draft, (line("talk.where_we_were"),))
        else:
            stack.begin(draft, FLOW_OF[name])
        return True
    if name not in AT_ONCE:
        return False
    AT_ONCE[name](draft)
    return True


def _is_dosing(draft: Draft) -> bool:
    """Whether a plan of this person's own from today is talked about: a new test would cut its waits short."""
    opened, plan = stack.top(draft), open_plan(draft.journal)
    if opened is None or plan is None or draft.person is None or opened.flow not in WORK:
        return False
    return plan[0].person == draft.person.key and draft.now - plan[0].at < timedelta(days=1)


def _correct(draft: Draft) -> None:
    """Something of the newest test was told wrong: ask which, while the test counts and nothing went in since."""
    found = last(draft.journal, ReadingTaken, lambda fact: not fact.source)
    poured = last_at(draft.journal, Added)
    fresh = found is not None and draft.now - found[0].at < timedelta(days=1)
    if found is None or not fresh or (poured and poured >= found[0].at):
        stack.resume(draft, (line("correct.too_late"),))
        return
    entry, test = found
    readings = READINGS.dump_python(dict(test.values), mode="json")
    args = {"readings": readings, "unclear": [], "method": test.method, "at": entry.at.isoformat(), "wrong": entry.key}
    stack.begin(draft, "weekly_test", args)


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
    "chart": chart,
    "calendar": calendar,
    "card": my_card,
    "help": _help,
    "start": leaving.start,
    "stop": leaving.stop,
    "cancel": leaving.cancel,
    "correct": _when_not_in_danger(_correct),
}

"""Reminders: one comes up, and what its reader says to it."""

from collections.abc import Sequence
from datetime import timedelta

from bot.model.event import Fell
from bot.model.fact import CartridgeChanged, FilterCared, Plain, ReminderAnswered, ReminderName
from bot.model.message import Button
from bot.schedule.care import Care
from bot.schedule.cases import doses_held
from bot.schedule.journal import in_danger, last_at, open_plan
from bot.schedule.reminders import MERGED_WITHIN, NAMES, next_of, reminders_of
from bot.schedule.season import season_of, wants_a_dose
from bot.talk import stack
from bot.talk.buttons import ReminderButton, encode
from bot.talk.draft import Draft
from bot.talk.names import reason_line
from bot.talk.overview import button_of
from bot.talk.words import Line, line, lines

IMPORTANCE: tuple[ReminderName, ...] = (
    "test",
    "refill",
    "purge",
    "shock",
    "winter",
    "cartridge",
    "replace",
    "soak",
    "rinse",
    "cover",
)
"""Of several that are due at once, the first one is what the message is about."""

LED: dict[ReminderName, str] = {"shock": "oxidise", "dose": "rest_day"}
"""Doses, and the conversations that name them, one at a time. Oxidising is one where the tub's water is known."""
OXIDISERS = ("potassium_monopersulfate",)

INSTEAD: dict[ReminderName, set[ReminderName]] = {
    "rinse": {"soak", "replace"},
    "soak": {"replace"},
    "purge": {"refill"},
}
"""What goes without saying where one of these is due as well."""
AT_THE_TUB = frozenset({"weekly_test", "start_up", "first_fill", "refill", "soaked"})
"""Conversations that say what goes into the water: while one is fresh, no dose of the routine comes between."""
FRESH = timedelta(hours=24)
BEFORE_A_DOSE = frozenset({"test", "refill"})
"""What is due on the same day and says by itself what goes into the water."""

CONVERSATION = {"test": "weekly_test", "shock": "shocked", "refill": "refill"}
"""What is not done by saying so: it begins a conversation."""

DONE: dict[ReminderName, Plain] = {
    "rinse": FilterCared(what="rinse"),
    "soak": FilterCared(what="soak"),
    "cartridge": CartridgeChanged(),
    "replace": FilterCared(what="replace"),
}


def fell(draft: Draft, fell: Fell) -> None:
    """A reminder came up. Whether it is due is looked at again; what else is due now goes into the same message."""
    due = _due_now(draft)
    if fell.what not in due:
        return
    led = [what for what in LED if what in due and _names_the_dose(draft, what)]
    named = next((what for what in led if _is_wanted(draft, what, due)), None)
    for what in due:
        if what in led and what != named:
            draft.record(ReminderAnswered(what=what, answer="later", until=draft.now + timedelta(days=1)))
        else:
            draft.record(ReminderAnswered(what=what, answer="sent"))
    tasks = [what for what in IMPORTANCE if what in due and what not in led]
    if shown := [what for what in tasks if not INSTEAD.get(what, set()) & set(tasks)]:
        _remind(draft, shown)
    if named:
        draft.lane = "reminder"
        stack.begin(draft, LED[named])


def _names_the_dose(draft: Draft, what: ReminderName) -> bool:
    """Whether it is for the bot to say what goes in, and not only that it is time."""
    if what == "dose":
        return True
    found = season_of(draft.tub, draft.known.dealer, draft.journal, draft.now)
    return found is not None and found.card is not None and bool(found.tub.kit.holding(OXIDISERS))


def _is_wanted(draft: Draft, what: ReminderName, due: Sequence[ReminderName]) -> bool:
    """Whether the water needs a dose by what is known now, and nothing else is being done with it."""
    if set(due) & BEFORE_A_DOSE or doses_held(draft.journal) or _is_worked_on(draft):
        return False
    if what == "dose":
        return _wants_a_dose(draft)
    found = season_of(draft.tub, draft.known.dealer, draft.journal, draft.now)
    return found is not None and found.regular_oxidiser() is not None


def _wants_a_dose(draft: Draft) -> bool:
    return wants_a_dose(draft.tub, draft.known.dealer, draft.journal, draft.now)


def _is_worked_on(draft: Draft) -> bool:
    """Whether a conversation at the tub or a plan of today is open, or a test was asked for today."""
    opened, plan = stack.top(draft), open_plan(draft.journal)
    if opened is not None and opened.flow in AT_THE_TUB and draft.now - opened.began < FRESH:
        return True
    if plan and plan[1].reading is not None and draft.now - plan[0].at < FRESH:
        return True
    asked = last_at(draft.journal, ReminderAnswered, lambda fact: fact.what in BEFORE_A_DOSE and fact.answer == "sent")
    return asked is not None and draft.now - asked < FRESH


def _remind(draft: Draft, shown: Sequence[ReminderName]) -> None:
    first, *others = shown
    what = lines(line(f"reminder.{first}"), _why(draft, first), gap=" ")
    also = line("reminder.also", tasks=tuple(line(f"task.{what}") for what in others)) if others else None
    draft.say(lines(what, also), _keyboard(draft, list(shown)), lane="reminder")


def _why(draft: Draft, what: ReminderName) -> Line | None:
    """Why a change of water is due, or a test sooner than in a week."""
    assert draft.person
    assert draft.tub
    found = Care(draft.person, draft.tub, draft.known.dealer, draft.journal, draft.now).reason(what)
    return reason_line(what, found) if found else None


def _due_now(draft: Draft) -> list[ReminderName]:
    """What is due now or within the hour, if anything is due now."""
    if draft.person is None or draft.tub is None:
        return []
    dues = reminders_of(draft.person, draft.tub, draft.known.dealer, draft.journal, draft.now, draft.household)
    if not any(due.at <= draft.now for due in dues):
        return []
    soon = {due.what for due in dues if due.at <= draft.now + MERGED_WITHIN}
    return [what for what in NAMES if what in soon]


def _keyboard(draft: Draft, shown: list[ReminderName]) -> tuple[tuple[Button, ...], ...]:
    assert draft.tub
    tub, (first, *others) = draft.tub.key, shown

    def button(label: Line, what: str, answer: str) -> Button:
        return Button(label=draft.words.text(label), data=encode(ReminderButton(tub, what, answer)))

    return (
        (
            button(line("button.done"), first, "done"),
            button(line("button.later"), "+".join(shown), "later"),
            button(line("button.not_mine"), first, "not_mine"),
        ),
        *((button(line(f"button.did.{what}"), what, "done"),) for what in others),
        *(((button_of(draft, "dose"),),) if "test" in shown and _wants_a_dose(draft) else ()),
    )


def answered(draft: Draft, tub: str, what: str, answer: str) -> None:
    """What somebody tapped under a reminder. `what` may name several, joined by +, where all are put off."""
    names = [name for name in NAMES if name in IMPORTANCE and name in what.split("+")]
    if draft.tub is None or draft.tub.key != tub or not names:
        stack.resume(draft, (line("talk.old_button"),))
    elif answer == "later":
        stack.begin(draft, "later", {"what": list(names)})
    elif answer == "not_mine":
        _not_mine(draft, names[0])
    elif answer == "done":
        _done(draft, names[0])
    else:
        stack.resume(draft, (line("talk.old_button"),))


def _done(draft: Draft, what: ReminderName) -> None:
    if what in CONVERSATION:
        if in_danger(draft.journal):
            draft.say(line("danger.paused"))
        else:
            stack.begin(draft, CONVERSATION[what])
        return
    if what in DONE:
        draft.record(DONE[what])
    draft.record(ReminderAnswered(what=what, answer="done"))
    draft.say(lines(line(f"reminder.done.{what}"), next_line(draft, what), gap=" "))


def _not_mine(draft: Draft, what: ReminderName) -> None:
    draft.record(ReminderAnswered(what=what, answer="not_mine"))
    draft.say(line("reminder.not_mine", task=line(f"task.{what}")))


def next_line(draft: Draft, what: ReminderName) -> Line | None:
    """When this person hears of a task again, by the journal as it is now."""
    assert draft.person
    assert draft.tub
    at = next_of(what, draft.person, draft.tub, draft.known.dealer, draft.journal, draft.now)
    return line("reminder.next", at=at) if at else None

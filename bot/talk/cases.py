"""Cases: a question goes to the dealer's people, and is looked after until one of them has it."""

from collections.abc import Sequence
from datetime import datetime, timedelta

from bot.model.due import Due
from bot.model.event import Fell
from bot.model.fact import CaseGivenBack, CaseHelped, CaseOpened, CaseReopened, Entry, PlanSent
from bot.model.person import Person
from bot.model.zones import zone
from bot.schedule.cases import MAY_COME_BACK, CaseState, case_named
from bot.schedule.journal import facts, open_cases
from bot.schedule.local import allowed
from bot.talk import card, crew
from bot.talk.buttons import CaseButton, encode
from bot.talk.card import Story, story_here
from bot.talk.draft import Draft
from bot.talk.words import Line, line, lines

LASTING = frozenset({"soiled", "glass", "slime", "flakes"})
"""Reasons that only a purge, drain, clean and refill ends."""
AT_ANY_HOUR = ("danger", "water")
"""Red flags do not wait for the dealer's hours."""
AGAIN = timedelta(minutes=30)
"""How long after nobody took a case it is sent again; the second time to the dealer."""
DAILY = timedelta(days=1)
DANGER_AGAIN = timedelta(hours=4)
HALF_HOURS = 6
"""How often a danger is sent again every half hour before it is sent every few hours."""
PLAN_COMES = "s."
"""How the keys of due rows begin that bring a plan into its owner's conversation."""
LOOK = timedelta(hours=4)
"""How often it is looked whether somebody who has a case is still there."""


def new_case(journal: Sequence[Entry], owner: Person | None) -> str:
    """A short key for the next case of this owner."""
    serial = sum(1 for entry in journal if isinstance(entry.fact, CaseOpened)) + 1
    return f"{owner.key[:12] if owner else 'stranger'}-{serial}"


def open_case(draft: Draft, fact: CaseOpened, before: Line | None = None) -> None:
    """Tell the dealer's people of a case, in their hours unless it is a red flag, and look after it from then on."""
    story = story_here(draft, fact)
    hours = draft.known.dealer
    at = draft.now if fact.klass in AT_ANY_HOUR else allowed(draft.now, hours.quiet, zone(hours.zone))
    now = at <= draft.now or draft.person is None
    if now:
        alert(draft, story, audience(draft, fact, 1), before)
    if draft.person:
        look_after(draft, story, 1 if now else 0, draft.now + AGAIN if now else at)


def alert(draft: Draft, story: Story, people: Sequence[Person], before: Line | None = None) -> None:
    """Show a case that nobody has."""
    others = [person for person in people if draft.person is None or person.key != draft.person.key]
    said = lines(before, card.card(story), gap="\n")
    crew.tell(draft, others, story, said, card.offered(story), turn="open", card=True)


def audience(draft: Draft, fact: CaseOpened, number: int) -> list[Person]:
    """Who is told of a case the time of that number: technicians, then the dealer, then all; of a danger always all.

    The group, if there is one, is told every time, and stands for the technicians the first time.
    """
    staff = list(draft.known.staff)
    group = [draft.group] if draft.group else []
    if fact.klass == "danger" or number > 2:
        return [*group, *staff]
    technicians = [person for person in staff if person.role == "technician"]
    dealers = [person for person in staff if person.role == "dealer"]
    return [*group, *(dealers or technicians)] if number == 2 else (group or technicians or staff)


def look_after(draft: Draft, story: Story, number: int, at: datetime) -> None:
    """Look at a case again then, if its owner is known."""
    if story.owner is None:
        return
    draft.set_due(
        Due(
            key=f"k.{story.fact.case}",
            dealer=draft.known.dealer.key,
            kind="case",
            what=f"case.{number}",
            person=story.owner.key,
            tub=story.tub.key if story.tub else None,
            at=at,
        )
    )


def deliver(draft: Draft, sent: PlanSent, tub: str | None) -> None:
    """Bring a plan that staff sent into its owner's conversation, which is another one than this."""
    draft.set_due(
        Due(
            key=f"{PLAN_COMES}{sent.plan_key}",
            dealer=draft.known.dealer.key,
            kind="case",
            what="plan",
            person=sent.to,
            tub=tub,
            at=draft.now,
        )
    )


def look(draft: Draft, fell: Fell) -> None:
    """The time to look at a case has come: one that nobody has is sent again."""
    state = case_named(draft.journal, fell.due.removeprefix("k."))
    if state is None or state.closed:
        return
    story = story_here(draft, state.fact)
    if story.holder(draft.known.staff):
        look_after(draft, story, 1, draft.now + LOOK)
        return
    if state.by:
        lost(draft, state)
        return
    number = int(fell.what.removeprefix("case."))
    again = line("case.again") if number else None
    alert(draft, story, audience(draft, state.fact, number), again)
    look_after(draft, story, number + 1, _next(draft, state.fact, number + 1))


def _next(draft: Draft, fact: CaseOpened, number: int) -> datetime:
    if fact.klass == "danger":
        return draft.now + (AGAIN if number <= HALF_HOURS else DANGER_AGAIN)
    dealer = draft.known.dealer
    return allowed(draft.now + (AGAIN if number < 3 else DAILY), dealer.quiet, zone(dealer.zone))


def lost(draft: Draft, state: CaseState) -> None:
    """Whoever had a case is not there any more: it goes back to all."""
    draft.record(CaseGivenBack(case=state.fact.case, by=state.by or ""), tub=state.entry.tub)
    story = story_here(draft, state.fact)
    alert(draft, story, audience(draft, state.fact, 3), line("case.free_again"))
    look_after(draft, story, 1, draft.now + AGAIN)


def came_back(draft: Draft, name: str) -> None:
    """The owner says that what a closed case was about is back."""
    state = case_named(draft.journal, name)
    if state is None:
        draft.say(line("talk.old_button"))
    elif state.closed is None:
        draft.say(line("case.open_still"))
    elif draft.now - state.closed > MAY_COME_BACK:
        draft.say(line("case.too_old"))
    else:
        draft.record(CaseReopened(case=name, entry=state.entry.key), tub=state.entry.tub)
        open_case(draft, state.fact, line("case.back"))
        draft.say(line("case.reopened"))


def helped(draft: Draft, name: str) -> None:
    """The owner says that it helped."""
    if case_named(draft.journal, name) and not facts(draft.journal, CaseHelped, lambda fact: fact.case == name):
        draft.record(CaseHelped(case=name))
    draft.say(line("case.glad"))


def back_button(name: str) -> tuple[Line, str]:
    """With it an owner opens a closed case again."""
    return line("case.do.back"), encode(CaseButton(name, "back"))


def clear_by_reading(journal: Sequence[Entry]) -> list[tuple[Entry, CaseOpened]]:
    """The water cases that a good reading may clear."""
    return [
        (entry, fact)
        for entry, fact in open_cases(journal)
        if fact.klass == "water" and not LASTING & set(fact.reasons)
    ]

"""Looking after a case: one that nobody has is sent again and then to the dealer; whoever has one and does not answer
is reminded, and then the others see it. By the dealer's hours, but for red flags.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta
from typing import Literal

from bot.model.due import Due
from bot.model.event import Fell
from bot.model.fact import CaseGivenBack, CaseOpened
from bot.model.person import Person
from bot.model.zones import zone
from bot.schedule.cases import CaseState, case_named
from bot.schedule.local import allowed
from bot.talk import card, crew
from bot.talk.card import Story, first_name, story_here
from bot.talk.draft import Draft
from bot.talk.words import Line, line, lines

DAILY = timedelta(days=1)
DANGER_AGAIN = timedelta(hours=4)
DANGER_ANSWER = timedelta(minutes=30)
"""How long somebody in a danger waits for an answer at most before whoever has the case is reminded."""
HALF_HOURS = 6
"""How often a danger is sent again at short intervals before it is sent every few hours."""
LOOK = timedelta(hours=4)
"""How often it is looked whether somebody who has a case is still there."""


def again_after(draft: Draft) -> timedelta:
    """How long after nobody took a case it is sent again."""
    return timedelta(minutes=draft.known.dealer.cases.again)


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


def look_after(draft: Draft, story: Story, number: int, at: datetime, what: Literal["case", "held"] = "case") -> None:
    """Look at a case again then, if its owner is known. `number` counts how often it was sent, or (`held`) how often
    whoever has it was reminded.
    """
    if story.owner is None:
        return
    draft.set_due(
        Due(
            key=f"k.{story.fact.case}",
            dealer=draft.known.dealer.key,
            kind="case",
            what=f"{what}.{number}",
            person=story.owner.key,
            tub=story.tub.key if story.tub else None,
            at=at,
        )
    )


def look(draft: Draft, fell: Fell) -> None:
    """The time to look at a case has come."""
    state = case_named(draft.journal, fell.due.removeprefix("k."))
    if state is None or state.closed:
        return
    story = story_here(draft, state.fact)
    what, _, count = fell.what.partition(".")
    if holder := story.holder(draft.known.staff):
        _look_at_holder(draft, story, state, holder, int(count) if what == "held" else 0)
    elif state.by:
        lost(draft, state)
    else:
        number = int(count) if what == "case" else 1
        again = line("case.again") if number else None
        alert(draft, story, audience(draft, state.fact, number), again)
        look_after(draft, story, number + 1, _next(draft, state.fact, number + 1))


def watch(draft: Draft, story: Story) -> None:
    """Somebody has the case now: see in time whether they answer."""
    look_after(draft, story, 0, _in_hours(draft, story.fact, draft.now + _answer_within(draft, story.fact)), "held")


def _look_at_holder(draft: Draft, story: Story, state: CaseState, holder: Person, reminded: int) -> None:
    """Whoever has a case and lets its owner wait is reminded, then the others are told."""
    waits = _answer_within(draft, state.fact)
    if state.waits is None and state.holds and draft.now - state.holds >= DAILY:
        told = line("case.still_held", name=story.name, case=state.fact.case, since=state.holds)
        crew.tell(draft, crew.holder_at(draft, story), story, told, card.handling(story))
        look_after(draft, story, 0, _in_hours(draft, state.fact, draft.now + DAILY), "held")
        return
    if state.waits is None or state.taken is None:
        look_after(draft, story, 0, draft.now + min(LOOK, waits), "held")
        return
    due = max(state.waits, state.taken) + waits
    if draft.now < due:
        look_after(draft, story, 0, _in_hours(draft, state.fact, due), "held")
        return
    if reminded == 0:
        told = line("case.waits", name=story.name, case=state.fact.case, since=state.waits)
        crew.tell(draft, crew.holder_at(draft, story), story, told, card.handling(story))
    else:
        told = line("case.waits_still", name=story.name, case=state.fact.case, holder=first_name(holder))
        others = [person for person in audience(draft, state.fact, 3) if person != holder]
        crew.tell(draft, others, story, told, card.over(story))
    gap = waits if reminded < 1 else DAILY
    look_after(draft, story, reminded + 1, _in_hours(draft, state.fact, draft.now + gap), "held")


def _answer_within(draft: Draft, fact: CaseOpened) -> timedelta:
    """How long an owner waits for whoever has their case."""
    usual = timedelta(minutes=draft.known.dealer.cases.answer)
    return min(usual, DANGER_ANSWER) if fact.klass == "danger" else usual


def _next(draft: Draft, fact: CaseOpened, number: int) -> datetime:
    again = again_after(draft)
    if fact.klass == "danger":
        return draft.now + (again if number <= HALF_HOURS else DANGER_AGAIN)
    return _in_hours(draft, fact, draft.now + (again if number < 3 else DAILY))


def _in_hours(draft: Draft, fact: CaseOpened, at: datetime) -> datetime:
    """The first moment from then on that is within the dealer's hours; a danger does not wait for them."""
    dealer = draft.known.dealer
    return at if fact.klass == "danger" else allowed(at, dealer.quiet, zone(dealer.zone))


def lost(draft: Draft, state: CaseState) -> None:
    """Whoever had a case is not there any more: it goes back to all."""
    draft.record(CaseGivenBack(case=state.fact.case, by=state.by or ""), tub=state.entry.tub)
    story = story_here(draft, state.fact)
    alert(draft, story, audience(draft, state.fact, 3), line("case.free_again"))
    look_after(draft, story, 1, draft.now + again_after(draft))

"""Cases: a question goes to the dealer's people, and what its owner says of it afterwards."""

from collections.abc import Sequence

from bot.model.due import Due
from bot.model.fact import CaseHelped, CaseOpened, CaseReopened, Entry, PlanSent
from bot.model.person import Person
from bot.model.zones import zone
from bot.schedule.cases import MAY_COME_BACK, case_named
from bot.schedule.journal import facts, open_cases
from bot.schedule.local import allowed
from bot.talk.buttons import CaseButton, encode
from bot.talk.card import story_here
from bot.talk.draft import Draft
from bot.talk.rising import again_after, alert, audience, look_after
from bot.talk.words import Line, line

LASTING = frozenset({"soiled", "glass", "slime", "flakes"})
"""Reasons that only a purge, drain, clean and refill ends."""
AT_ANY_HOUR = ("danger", "water")
"""Red flags do not wait for the dealer's hours."""
PLAN_COMES = "s."
"""How the keys of due rows begin that bring a plan into its owner's conversation."""


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
        look_after(draft, story, 1 if now else 0, draft.now + again_after(draft) if now else at)


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

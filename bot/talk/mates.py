"""Several people on one tub: who comes and goes is told to the others once."""

from collections.abc import Iterable

from bot.model.conversation import OpenFlow
from bot.model.fact import CaseOpened, PlanClosed
from bot.model.known import Handing
from bot.model.message import Lane
from bot.model.person import Person
from bot.model.trail import HouseholdChanged
from bot.schedule.journal import open_plan
from bot.talk.card import health_reasons
from bot.talk.draft import Draft
from bot.talk.words import Line, line, verbatim

MOST = 8
"""People on one tub."""


def name_of(person: Person) -> Line:
    """How somebody is called before others of the household."""
    return verbatim(person.name) if person.name else line("household.somebody")


def tell_others(draft: Draft, people: Iterable[Person], what: Line, *, lane: Lane = "reminder", but: str = "") -> None:
    """Tell those of a household who get messages, but for whoever is talking and `but`."""
    known = draft.known.person
    for one in people:
        gets = one.role == "owner" and one.standing == "active" and one.address is not None
        if gets and one.key not in (but, known.key if known else ""):
            draft.tell(one, what, lane=lane)


def follow(draft: Draft) -> None:
    """Tell the others of a tub at once that somebody of them told of a danger."""
    if draft.person is None or draft.tub is None:
        return
    for entry in draft.entries:
        if isinstance(entry.fact, CaseOpened) and entry.fact.klass == "danger":
            told = line("household.danger", name=name_of(draft.person), dealer=draft.known.dealer.name)
            tell_others(draft, draft.household, told, lane="alert")


def cleared(draft: Draft, case: str) -> None:
    """Tell the others of a tub that a danger is cleared; whoever told of it hears so anyway."""
    for open_case in draft.known.cases:
        fact = open_case.entry.fact
        if isinstance(fact, CaseOpened) and fact.case == case and fact.klass == "danger" and open_case.owner:
            told = line("household.cleared", name=name_of(open_case.owner))
            tell_others(draft, open_case.household, told, lane="alert", but=open_case.owner.key)


def join(draft: Draft) -> None:
    """Whoever is talking comes to the tub; those who are on it are told."""
    assert draft.person
    assert draft.tub
    draft.links.append((draft.person.key, draft.tub.key))
    others = [one for one in draft.known.invited_household if one.key != draft.person.key]
    if draft.known.invite and draft.known.invite.hands_on:
        draft.handing = Handing(tub=draft.tub.key, person=draft.person.key, private=tuple(sorted(health_reasons())))
        draft.record(HouseholdChanged(what="took_over"))
        tell_others(draft, others, line("hand_on.taken", dealer=draft.known.dealer.name))
    elif others:
        draft.record(HouseholdChanged(what="joined"))
        tell_others(draft, others, line("household.joined", name=name_of(draft.person)))


def leave(draft: Draft) -> None:
    """Whoever is talking leaves the tub: what they told of it stays, a plan of theirs is given up."""
    assert draft.person
    assert draft.tub
    plan = open_plan(draft.journal)
    if plan and plan[0].person == draft.person.key:
        draft.record(PlanClosed(plan_key=plan[1].plan_key, how="abandoned"))
    draft.record(HouseholdChanged(what="left"))
    draft.unlinks.append((draft.person.key, draft.tub.key))
    draft.conversation = draft.conversation.model_copy(update={"flows": _elsewhere(draft), "tub": "", "tub_at": None})
    tell_others(draft, draft.household, line("household.left", name=name_of(draft.person)))


def _elsewhere(draft: Draft) -> tuple[OpenFlow, ...]:
    """What stays open: what is not about the tub that is left."""
    assert draft.tub
    flows = draft.conversation.flows
    for opened in flows:
        if opened.waits_for and opened.tub and opened.tub.key == draft.tub.key:
            draft.cancel_due(opened.waits_for)
    return tuple(one for one in flows if one.tub is not None and one.tub.key != draft.tub.key)

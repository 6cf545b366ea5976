"""The one door into the conversations: what is known and what arrived go in, everything that changes comes out."""

from datetime import datetime

from bot.model.event import Arrival
from bot.model.known import Known, Outcome
from bot.model.message import Message
from bot.schedule.reminders import reminders_of
from bot.talk import crew, flows, mates, stack  # noqa: F401  (flows registers every flow)
from bot.talk.door import stranger_step
from bot.talk.draft import Draft
from bot.talk.flows.put_aside import offer
from bot.talk.group import group_step
from bot.talk.owner import owner_step
from bot.talk.relay import report
from bot.talk.season import tell_news
from bot.talk.staff import staff_step
from bot.talk.words import Words, line


def step(known: Known, arrival: Arrival, now: datetime) -> Outcome:
    """One step of one conversation. Pure: the same in gives the same out. Never silent, unless it is told to be."""
    draft = Draft(known, arrival, now)
    stack.forget_unknown(draft)
    if draft.in_group:
        group_step(draft)
    elif draft.person is None:
        stranger_step(draft)
    elif draft.person.role == "owner":
        owner_step(draft)
        mates.follow(draft)
        tell_news(draft)
        offer(draft)
        report(draft)
        _set_reminders(draft)
    else:
        staff_step(draft)
    crew.follow(draft)
    crew.forget(draft)
    return draft.outcome()


def apologise(known: Known) -> Outcome:
    """What a person is told when handling their message failed for good: it is kept, and somebody will look at it."""
    words = Words.of(known.person) if known.person else Words(known.dealer.language)
    text = words.text(line("talk.failed", dealer=known.dealer.name))
    if known.person:
        return Outcome(messages=(Message(to=known.person.key, text=text),))
    return Outcome(messages=(Message(to="", text=text, address=known.address),))


def _set_reminders(draft: Draft) -> None:
    """Bring the reminders of everybody on the tub in line with the journal as it is now."""
    if draft.person is None or draft.tub is None:
        return
    people, dealer = draft.household, draft.known.dealer
    wanted = {
        due.key: due
        for person in people
        for due in reminders_of(person, draft.tub, dealer, draft.journal, draft.now, people)
    }
    there = {due.key: due for due in draft.known.dues if due.kind == "reminder" and due.tub == draft.tub.key}
    for key, due in wanted.items():
        if there.get(key) != due:
            draft.set_due(due)
    for key in there.keys() - wanted.keys():
        draft.cancel_due(key)

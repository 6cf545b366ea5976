"""What the dealer's people ask for with a slash: old cases by tub, owner or words, figures, the team, their own cases.

What begins with a slash never goes to an owner.
"""

import hashlib
from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta

from bot.model.fact import CaseOpened, CaseReopened, CaseTaken, Entry
from bot.model.message import Button
from bot.model.person import Role
from bot.model.sought import Found, Seek
from bot.schedule.cases import BY_STAFF, CaseState, Figures, case_states, figures
from bot.talk import card, handling, stack
from bot.talk.buttons import CaseButton, PersonButton, encode
from bot.talk.card import Buttons, Story, first_name
from bot.talk.draft import Draft
from bot.talk.rising import watch
from bot.talk.team import team
from bot.talk.words import Line, Span, line, lines, verbatim

SHOWN = 5
BACK = timedelta(days=400)
"""How far back cases are looked for."""
MONTH = timedelta(days=30)
TALK = 12
"""How many of the last messages of an old case are shown."""


def obey(draft: Draft, text: str) -> bool:
    """Do what a text with a slash asks for; False if it has none."""
    if not text.startswith("/"):
        return False
    name, _, rest = text[1:].strip().partition(" ")
    order = ORDERS.get(name.partition("@")[0].casefold())
    if order is None:
        _help(draft, "")
    else:
        order(draft, rest.strip())
    return True


def _help(draft: Draft, _: str) -> None:
    assert draft.person
    draft.say(what_may_be_written(draft.person.role))


def what_may_be_written(role: Role) -> Line:
    """What somebody of that role may ask for."""
    return lines(line("orders.help"), line("orders.dealer_help") if role == "dealer" else None)


# -- old cases


def _find(draft: Draft, words: str) -> None:
    if not words:
        draft.say(line("orders.find_what"))
        return
    found = _cases(draft)
    if found is None:
        return
    said = words.casefold()
    stories = [story for story in _stories(draft, found) if said in _text_of(story)]
    if not stories:
        draft.say(line("orders.none_found", words=verbatim(words[:60])))
        return
    for story in reversed(stories[-SHOWN:]):
        draft.say(_in_short(draft, story), handling.labelled(draft, _show_button(story)))
    if len(stories) > SHOWN:
        draft.say(line("orders.more_found", count=len(stories) - SHOWN))


def _cases(draft: Draft) -> Found | None:
    return draft.found(Seek(what="cases", since=draft.now - BACK))


def _stories(draft: Draft, found: Found) -> list[Story]:
    """Every case of what was found, oldest first."""
    people = {person.key: person for person in found.people}
    tubs = {tub.key: tub for tub in found.tubs}
    return [
        Story(
            state.fact,
            state,
            people.get(state.entry.person or ""),
            tubs.get(state.entry.tub or ""),
            tuple(entry for entry in found.entries if entry.tub == state.entry.tub),
            draft.known.dealer,
        )
        for state in case_states(found.entries)
    ]


def _text_of(story: Story) -> str:
    """All that a case can be found by."""
    tub, state = story.tub, story.state
    parts = [story.name, story.fact.case, story.fact.text, *story.fact.reasons]
    parts += [tub.name, tub.model or "", tub.serial or ""] if tub else []
    parts += [*(said.text for said in state.said), *state.notes, state.ended] if state else []
    return "\n".join(parts).casefold()


def _in_short(draft: Draft, story: Story) -> Line:
    state = story.state
    assert state
    return lines(card.head(story), line("orders.opened", at=state.entry.at), _standing(draft, state), gap="\n")


def _standing(draft: Draft, state: CaseState) -> Line:
    if state.closed:
        return line("orders.closed", at=state.closed)
    holder = next((one for one in draft.known.staff if one.key == state.by), None)
    return line("orders.holder", holder=first_name(holder)) if holder else line("orders.free")


def _show_button(story: Story) -> Buttons:
    return (((line("case.do.show"), encode(CaseButton(story.fact.case, "show"))),),)


def show(draft: Draft, name: str) -> None:
    """Show an old case with what was said in it."""
    found = _cases(draft)
    if found is None:
        return
    story = _named(draft, found, name)
    if story is None or story.state is None:
        draft.say(line("talk.old_button"))
        return
    state = story.state
    talk = [
        line(f"orders.said.{said.side}", text=card.cut(said.text or f"[{said.files[0].what}]", card.TOLD))
        for said in state.said[-TALK:]
        if said.text or said.files
    ]
    notes = [line("case.noted", text=card.cut(note, card.TOLD)) for note in (*state.notes, state.ended) if note]
    draft.say(lines(_in_short(draft, story), lines(*talk, gap="\n"), lines(*notes, gap="\n")), _may(draft, story))


def _may(draft: Draft, story: Story) -> tuple[tuple[Button, ...], ...]:
    """What may be done with a case, open or not."""
    assert story.state
    if story.state.closed:
        again = ((line("case.do.again"), encode(CaseButton(story.fact.case, "again"))),)
        return handling.labelled(draft, (again,))
    holder = story.holder(draft.known.staff)
    mine = card.answering(story) if holder == draft.person else card.over(story) if holder else card.offered(story)
    return handling.labelled(draft, mine)


def _named(draft: Draft, found: Found, name: str) -> Story | None:
    return next((story for story in _stories(draft, found) if story.fact.case == name), None)


def open_again(draft: Draft, name: str) -> None:
    """Open a closed case again: it belongs to whoever does so."""
    if handling.story_named(draft, name):
        handling.act(draft, name, "take")
        return
    found = _cases(draft)
    if found is None:
        return
    story = _named(draft, found, name)
    if story is None or story.state is None:
        draft.say(line("talk.old_button"))
        return
    if not story.reachable:
        draft.say(line("case.unreachable", name=story.name))
        return
    handling.write(draft, story, CaseReopened(case=name, entry=story.state.entry.key))
    _mine(draft, story, "case.person_has")


# -- a case of their own


def _case(draft: Draft, words: str) -> None:
    """Open a case about an owner whom somebody names."""
    if not words:
        draft.say(line("orders.whom"))
        return
    found = draft.found(Seek(what="owners", words=words))
    if found is None:
        return
    if not found.people:
        draft.say(line("orders.nobody", words=verbatim(words[:60])))
        return
    models = {person: tub.model for person, key in found.links for tub in found.tubs if tub.key == key and tub.model}
    for person in found.people[:SHOWN]:
        model = models.get(person.key)
        said = line("orders.owner_of", name=person.name, model=model) if model else verbatim(person.name or "?")
        button = ((line("orders.do.open"), encode(PersonButton(person.key, "open"))),)
        draft.say(said, handling.labelled(draft, (button,)))
    if len(found.people) > SHOWN:
        draft.say(line("orders.more_found", count=len(found.people) - SHOWN))


def open_for(draft: Draft, key: str) -> None:
    """Open a case about that owner; it belongs to whoever does so."""
    found = draft.found(Seek(what="owners"))
    if found is None:
        return
    owner = next((person for person in found.people if person.key == key), None)
    if owner is None:
        draft.say(line("talk.old_button"))
        return
    there = dict(found.links)
    tub = next((tub for tub in found.tubs if tub.key == there.get(key)), None)
    name = f"{owner.key[:12]}-{hashlib.sha256(draft.arrival.update.encode()).hexdigest()[:4]}"
    fact = CaseOpened(case=name, klass="question", reasons=(BY_STAFF,))
    story = Story(fact, None, owner, tub, (), draft.known.dealer)
    if not story.reachable or owner.standing == "stopped":
        draft.say(line("orders.stopped" if story.reachable else "case.unreachable", name=story.name))
        return
    draft.record(fact, tub=tub.key if tub else None, person=owner.key)
    _mine(draft, story, "case.person_asks")


def _mine(draft: Draft, story: Story, told: str) -> None:
    """The case is now with whoever is talking, and its owner knows so."""
    assert draft.person
    assert story.owner
    handling.write(draft, story, CaseTaken(case=story.fact.case, by=draft.person.key))
    draft.conversation = draft.conversation.model_copy(update={"case": story.fact.case})
    watch(draft, story)
    mine = replace(story, state=CaseState(_entry(draft, story), story.fact, by=draft.person.key))
    draft.say(line("case.yours", name=story.name), handling.labelled(draft, card.handling(mine)))
    dealer = draft.known.dealer.name
    draft.tell(story.owner, line(told, holder=first_name(draft.person), dealer=dealer), lane="reply")


def _entry(draft: Draft, story: Story) -> Entry:
    if story.state:
        return story.state.entry
    return next(entry for entry in draft.entries if entry.fact == story.fact)


# -- figures


def _figures(draft: Draft, _: str) -> None:
    found = _cases(draft)
    if found is not None:
        draft.say(figures_line(figures(found.entries, draft.now, draft.now - MONTH)))


def figures_line(made: Figures) -> Line:
    """The figures in a few lines."""
    return lines(
        line("figures.open", open=made.open, free=made.free, waiting=made.waiting),
        line("figures.longest", span=_span(made.longest)) if made.longest else None,
        line("figures.month", opened=made.opened, closed=made.closed, helped=made.helped),
        line("figures.first_answer", span=_span(made.first_answer)) if made.first_answer else None,
        line("figures.closing", span=_span(made.closing)) if made.closing else None,
        gap="\n",
    )


def _span(length: timedelta) -> Span:
    return Span(length.total_seconds() / 60)


# -- the dealer's own


def _for_dealer(order: Callable[[Draft], None]) -> Callable[[Draft, str], None]:
    """An order that the dealer alone may give, in a private chat."""

    def guarded(draft: Draft, _: str) -> None:
        assert draft.person
        if draft.person.role == "dealer" and not draft.in_group:
            order(draft)
        else:
            draft.say(line("orders.dealer_only"))

    return guarded


def _how_to_import(draft: Draft) -> None:
    draft.say(line("import.how_to"))


ORDERS: dict[str, Callable[[Draft, str], None]] = {
    "help": _help,
    "start": _help,
    "find": _find,
    "figures": _figures,
    "team": team,
    "case": _case,
    "import": _for_dealer(_how_to_import),
    "invites": _for_dealer(lambda draft: stack.begin(draft, "invites")),
}

"""The dealer's people as a case reaches them: in the topic that it has in their group, or each of them alone."""

from collections.abc import Iterable

from bot.model.event import File
from bot.model.fact import CaseCleared, Entry
from bot.model.group import Topic, Turn
from bot.model.message import Lane
from bot.model.person import Person
from bot.schedule.cases import case_named, case_states
from bot.talk import mates
from bot.talk.card import Buttons, Story, cut, first_name, story_here, story_of
from bot.talk.draft import Draft
from bot.talk.words import Line, Words, line, lines, verbatim

ABOUT = 40
"""Characters of the owner's own words in the name of a topic."""


def topic_of(draft: Draft, story: Story, turn: Turn = "", *, card: bool = False) -> Topic | None:
    """The topic of a case, named by its owner, the tub and what happened; None where there is no group."""
    if draft.group is None:
        return None
    fact = story.fact
    if fact.reasons:
        about = line(f"case.reason.{fact.reasons[0]}")
    else:
        about = verbatim(cut(fact.text, ABOUT)) if fact.text else line(f"case.about.{fact.klass}")
    model = cut(story.tub.model, ABOUT) if story.tub and story.tub.model else ""
    named = (
        line("case.topic_of_tub", name=story.name, model=model, about=about)
        if model
        else line("case.topic", name=story.name, about=about)
    )
    name = " ".join(Words.of(draft.group).text(named).split())
    return Topic(case=fact.case, name=name, turn=turn, card=card)


def tell(
    draft: Draft,
    people: Iterable[Person],
    story: Story,
    what: Line,
    buttons: Buttons = (),
    *,
    lane: Lane = "alert",
    file: File | None = None,
    turn: Turn = "",
    card: bool = False,
) -> None:
    """Tell people something of a case; the group among them in its topic."""
    for person in people:
        topic = topic_of(draft, story, turn, card=card) if person.role == "group" else None
        draft.tell(person, what, buttons, lane, file, topic=topic)


def holder_at(draft: Draft, story: Story) -> list[Person]:
    """Where whoever has a case is told of it: in the group if they took it there. Empty where nobody has it."""
    holder = story.holder(draft.known.staff)
    if holder is None:
        return []
    in_group = story.state is not None and story.state.in_group
    return [draft.group] if draft.group and in_group else [holder]


def follow(draft: Draft) -> None:
    """Say in its topic that a case has ended, and close that; where it was a danger, say so to its household."""
    for entry in draft.entries:
        if isinstance(entry.fact, CaseCleared) and entry.fact.by == "staff":
            mates.cleared(draft, entry.fact.case)
    if draft.group is None:
        return
    for entry in draft.entries:
        if isinstance(entry.fact, CaseCleared) and (story := _story(draft, entry.fact.case)):
            tell(draft, [draft.group], story, _ended(draft, entry, entry.fact), lane="reply", turn="close")


def forget(draft: Draft) -> None:
    """Remove the topics of somebody of whom everything is erased, with all that was said there."""
    if draft.group is None or not draft.erase:
        return
    for state in case_states(draft.journal):
        if state.entry.person in draft.erase:
            topic = Topic(case=state.fact.case, name=state.fact.case, turn="remove")
            draft.tell(draft.group, line("group.erased", case=state.fact.case), lane="reply", topic=topic)


def _ended(draft: Draft, entry: Entry, cleared: CaseCleared) -> Line:
    if cleared.by == "reading":
        return line("case.ended_by_reading")
    closer = next((first_name(one) for one in draft.known.staff if one.key == entry.person), "?")
    said = line("case.ended", holder=closer)
    if cleared.reason:
        said = line("case.ended_why", holder=closer, reason=line(f"case.closing.{cleared.reason}"))
    return lines(said, line("case.noted", text=cleared.note) if cleared.note else None, gap="\n")


def _story(draft: Draft, name: str) -> Story | None:
    """A case as it stands now, open or not."""
    for case in draft.known.cases:
        if getattr(case.entry.fact, "case", None) == name:
            new = tuple(entry for entry in draft.entries if case.tub and entry.tub == case.tub.key)
            return story_of(case.model_copy(update={"journal": (*case.journal, *new)}), draft.known.dealer)
    state = case_named(draft.journal, name)
    return None if state is None else story_here(draft, state.fact)

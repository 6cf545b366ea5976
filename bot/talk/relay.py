"""Between an owner and whoever has their case: what one writes or sends reaches the other as it was written."""

from bot.model.event import File
from bot.model.fact import CaseCleared, CaseSaid, Corrected, ReadingTaken
from bot.model.group import Topic
from bot.model.message import Lane
from bot.model.person import Person
from bot.schedule.cases import CaseState, case_named, case_states, open_state
from bot.talk import card, crew
from bot.talk.buttons import CaseButton, encode
from bot.talk.card import Buttons, Story, first_name, story_here, story_of
from bot.talk.draft import Draft
from bot.talk.measured import measured
from bot.talk.names import reading_line
from bot.talk.rising import lost
from bot.talk.understand import events, readings
from bot.talk.words import Line, line, lines, verbatim

NOT_PASSED = ("location", "contact", "other")
"""What no channel can send again; of a place the numbers can be said."""


def pass_on(
    draft: Draft, text: str, files: tuple[File, ...] = (), *, edited: bool = False, quietly: bool = False
) -> bool:
    """Pass on what an owner wrote or sent: to whoever has their case; in a danger that nobody has, to all.

    Files are kept for whoever takes the case. False if nothing was passed on. `quietly`: the owner has been answered.
    """
    state = open_state(draft.journal, draft.person.key) if draft.person else None
    if state is None:
        return False
    story = story_here(draft, state.fact)
    holder = story.holder(draft.known.staff)
    left = holder is None and state.by is not None
    reaches = holder is not None or left or state.fact.klass == "danger"
    if not reaches and not files:
        return False
    draft.record(CaseSaid(case=state.fact.case, side="owner", text=text[:4096], files=files, edited=edited))
    if left:
        lost(draft, state)
    elif reaches:
        people = crew.holder_at(draft, story) or ([draft.group] if draft.group else list(draft.known.staff))
        _to_staff(draft, story, people, text, files, edited=edited)
    if reaches:
        _keep_readings(draft, text)
    if reaches and not quietly:
        told = line("case.passed_on", name=first_name(holder)) if holder else line("case.passed_to_all")
        draft.say(lines(told, line("case.not_passed") if _lost(files) else None, gap="\n"))
    return reaches


def _to_staff(
    draft: Draft, story: Story, people: list[Person], text: str, files: tuple[File, ...], *, edited: bool
) -> None:
    title = line("case.owner_changed" if edited else "case.owner_writes", name=story.name, case=story.fact.case)
    holder = story.holder(draft.known.staff)
    booking = _booking(draft, story, text) if holder else ()
    for person in people:
        in_group = person.role == "group"
        places = tuple(file for file in files if file.what == "location")
        seen = files if may_see(story, person, holder) else places
        note = line("case.file_kept") if len(seen) < len(files) else None
        own = () if in_group else card.answering(story)
        buttons = (*booking, *own) if holder else card.offered(story)
        topic = crew.topic_of(draft, story) if in_group else None
        send(draft, person, title, text, seen, buttons, topic=topic, note=note)
    if files and holder and holder not in people and not any(may_see(story, one, holder) for one in people):
        send(draft, holder, title, "", files)


def may_see(story: Story, person: Person, holder: Person | None) -> bool:
    """Whether files of a case are sent to somebody: what may show a body goes to whoever has the case alone, and what
    comes in a danger that nobody has to the dealer alone.
    """
    if holder is None:
        return story.fact.klass != "danger" or person.role == "dealer"
    return person == holder or not story.about_health


def _booking(draft: Draft, story: Story, text: str) -> Buttons:
    """One tap books the additions that an owner tells of."""
    state = case_named(draft.journal, story.fact.case)
    if state is None or not any(event.kind == "addition" for event in events(text, draft.now)):
        return ()
    return (((line("case.do.book"), encode(CaseButton(story.fact.case, f"book{len(state.said) - 1}"))),),)


def send(
    draft: Draft,
    person: Person,
    title: Line,
    text: str,
    files: tuple[File, ...] = (),
    buttons: Buttons = (),
    *,
    topic: Topic | None = None,
    note: Line | None = None,
) -> None:
    """Send words and files to somebody, or into a topic, under a line that says whose they are."""
    lane: Lane = "reply" if person.role == "owner" else "alert"
    places = (line("case.place", place=file.reference) for file in files if file.what == "location")
    lost_one = line("case.file_lost") if _lost(files) else None
    said = lines(title, verbatim(text) if text else None, *places, lost_one or note, gap="\n")
    passed = [file for file in files if file.what not in NOT_PASSED]
    for place, file in enumerate((*passed,) or (None,)):
        draft.tell(person, title if place else said, () if place else buttons, lane=lane, file=file, topic=topic)


def _lost(files: tuple[File, ...]) -> bool:
    """Whether something is among them that cannot be passed on at all."""
    return any(file.what in NOT_PASSED and file.what != "location" for file in files)


def answer(draft: Draft, said: CaseSaid) -> None:
    """Send what one of the dealer's people says to the owner of the case that it was said in, and to its topic where
    it was said elsewhere.
    """
    found = next((case for case in draft.known.cases if getattr(case.entry.fact, "case", None) == said.case), None)
    if found is None or found.owner is None or draft.person is None:
        return
    me, story = first_name(draft.person), story_of(found, draft.known.dealer)
    title = line("case.corrects" if said.edited else "case.said", name=me)
    send(draft, found.owner, title, said.text, said.files)
    for group in crew.holder_at(draft, story):
        if group.role == "group" and not draft.in_group:
            title = line("case.wrote_alone", holder=me, name=story.name)
            send(draft, group, title, said.text, said.files, topic=crew.topic_of(draft, story))


def _keep_readings(draft: Draft, text: str) -> None:
    """Numbers of a test are kept, though a person answers them."""
    heard = readings(text, sanitizer=draft.tub.sanitizer if draft.tub else None)
    values = measured(heard.values, (draft.tub and draft.tub.scale) or draft.known.dealer.scale)
    if draft.tub and values and not heard.doubts:
        draft.record(ReadingTaken(values=values, method=heard.method or draft.tub.method))


def report(draft: Draft) -> None:
    """Tell whoever has a case of this tub what was tested, and that a good reading ended their case."""
    written = [entry.fact.fact if isinstance(entry.fact, Corrected) else entry.fact for entry in draft.entries]
    if any(isinstance(fact, CaseSaid) for fact in written):
        return
    for state in case_states(draft.journal):
        story = story_here(draft, state.fact)
        at = crew.holder_at(draft, story)
        for fact in written:
            if isinstance(fact, ReadingTaken) and not fact.source and state.closed is None:
                who = draft.person.name if draft.person else story.name
                told = line("case.reading", name=who, case=state.fact.case, values=reading_line(fact))
                crew.tell(draft, at, story, told, card.handling(story))
            elif isinstance(fact, CaseCleared) and fact.by == "reading" and fact.case == state.fact.case:
                alone = [person for person in at if person.role != "group"]
                crew.tell(draft, alone, story, line("case.cleared_by_reading", name=story.name, case=fact.case))


def owner_left(draft: Draft) -> None:
    """Tell whoever has the owner's case that nothing reaches them any more."""
    state: CaseState | None = open_state(draft.journal, draft.person.key) if draft.person else None
    if state is None:
        return
    story = story_here(draft, state.fact)
    crew.tell(draft, crew.holder_at(draft, story), story, line("case.owner_blocked", name=story.name))

"""What the dealer's people do with a case: take it, give it back, hold doses, ask for a test, end it.

Who has a case is read from its journal; of two who take it at once the store lets one through, and the other decides
anew on what is there then.
"""

from collections.abc import Callable
from datetime import timedelta

from bot.model.fact import CaseCleared, CaseGivenBack, CaseTaken, DosesHeld, Fact, PlanIssued, TestWanted
from bot.model.known import Case
from bot.model.message import Button
from bot.model.person import Person
from bot.schedule.journal import last
from bot.talk import card, crew, stack
from bot.talk.buttons import CommandButton, encode
from bot.talk.card import Buttons, Story, first_name, story_of
from bot.talk.cases import back_button
from bot.talk.draft import Draft
from bot.talk.drawings import plan_drawing, water_chart
from bot.talk.outlook import ahead
from bot.talk.relay import NOT_PASSED
from bot.talk.rising import again_after, alert, audience, look_after, watch
from bot.talk.words import line, lines
from dosing import limits_for

REMIND = timedelta(days=1)
"""When an owner who was asked for a test is reminded of it: they are told now (common practice)."""
RECENT = timedelta(days=2)
"""A plan is worth a look that long (common practice)."""
GO_ON = (line("talk.go_on"), encode(CommandButton("open")))


def stories(draft: Draft) -> list[Story]:
    """The open cases as they stand with what was just recorded: the gravest first, then the oldest."""
    order = ("danger", "water", "stuck", "question")
    found = [_story(draft, case) for case in draft.known.cases]
    return sorted((story for story in found if story), key=lambda story: order.index(story.fact.klass))


def _story(draft: Draft, case: Case) -> Story | None:
    new = tuple(entry for entry in draft.entries if case.tub and entry.tub == case.tub.key)
    story = story_of(case.model_copy(update={"journal": (*case.journal, *new)}), draft.known.dealer)
    return None if story.state and story.state.closed else story


def story_named(draft: Draft, name: str) -> Story | None:
    """The open case of that key."""
    return next((story for story in stories(draft) if story.fact.case == name), None)


def mine(draft: Draft) -> list[Story]:
    """The cases that this person has."""
    return [story for story in stories(draft) if story.holder(draft.known.staff) == _me(draft)]


def write(draft: Draft, story: Story, fact: Fact) -> None:
    """Write something into the journal of the case's tub."""
    draft.record(fact, tub=story.tub.key if story.tub else None)


def act(draft: Draft, name: str, action: str) -> None:
    """Do what a button of a case says, if the case is open and, where it matters, nobody else has it."""
    story = story_named(draft, name)
    if story is None:
        draft.say(line("case.closed_already", case=name))
        return
    holder = story.holder(draft.known.staff)
    action = _now(story, action, holder == _me(draft))
    if holder and holder != _me(draft) and action not in ANYBODY:
        draft.say(card.taken_by(story, holder), labelled(draft, card.over(story)))
    elif action in ACTIONS:
        ACTIONS[action](draft, story)
    else:
        draft.say(line("talk.old_button"))


def _now(story: Story, action: str, has_it: bool) -> str:
    """What an action comes to as the case stands: answering what nobody has is taking it."""
    if action in ("answer", "take", "over"):
        return "answer" if has_it else "over" if action == "over" else "take"
    if action == "clear" and story.fact.klass not in ("danger", "water"):
        return "close"
    return action


def _take(draft: Draft, story: Story) -> None:
    me = _me(draft)
    before = story.holder(draft.known.staff)
    write(draft, story, CaseTaken(case=story.fact.case, by=me.key, in_group=draft.in_group))
    draft.conversation = draft.conversation.model_copy(update={"case": story.fact.case})
    taken = story_named(draft, story.fact.case) or story
    watch(draft, taken)
    expected = None if story.fact.klass == "danger" else ahead(taken, draft.known.dealer, draft.now)
    if not draft.in_group:
        draft.say(lines(card.card(taken), expected))
    elif expected:
        draft.say(expected)
    _show_chart(draft, taken)
    _show_plan(draft, taken)
    for file in taken.state.files[-5:] if taken.state else ():
        if file.what not in NOT_PASSED:
            at = [me] if taken.about_health else crew.holder_at(draft, taken)
            crew.tell(draft, at, taken, line("case.sent_before", name=story.name), lane="reply", file=file)
    draft.say(line(_yours(draft), holder=first_name(me), name=story.name), labelled(draft, card.handling(taken)))
    for person in _others(draft, story, before):
        key = "case.taken_over" if person == before else "case.has"
        told = line(key, holder=first_name(me), name=story.name, case=story.fact.case)
        crew.tell(draft, [person], taken, told, card.over(story), lane="reply")
    if story.owner:
        draft.tell(story.owner, line("case.person_has", holder=first_name(me)), lane="reply")


def _show_chart(draft: Draft, story: Story) -> None:
    """The picture of the tub's last weeks, where there are tests enough for one."""
    if story.tub is None:
        return
    dealer = draft.known.dealer
    scale = story.tub.scale or dealer.scale
    chart = water_chart(draft.words, story.tub, scale, limits_for(dealer.locale), story.journal, draft.now)
    if chart:
        draft.say(line("case.chart"), enclosure=chart)


def _show_plan(draft: Draft, story: Story) -> None:
    """The picture of the plan that the bot made last, if that was not long ago."""
    found = last(story.journal, PlanIssued)
    if found is None or draft.now - found[0].at > RECENT or story.tub is None:
        return
    drawing = plan_drawing(draft.words, found[1].plan, story.tub.volume, draft.known.dealer.locale)
    if drawing:
        draft.say(line("case.plan_picture", at=found[0].at), enclosure=drawing)


def _yours(draft: Draft) -> str:
    if draft.arrival.group is None:
        return "case.yours"
    return "case.yours_in_topic" if draft.arrival.group.thread else "case.yours_in_group"


def _others(draft: Draft, story: Story, before: Person | None) -> list[Person]:
    """Who else is told that a case is taken: all who were shown it, and whoever had it."""
    others = [person for person in draft.known.staff if person != _me(draft)]
    if draft.group is None or story.fact.klass == "danger":
        told = others
    else:
        told = [person for person in others if person == before]
    return told if draft.group is None or draft.in_group else [draft.group, *told]


def _answer(draft: Draft, story: Story) -> None:
    draft.conversation = draft.conversation.model_copy(update={"case": story.fact.case})
    draft.say(line("case.writing_to", name=story.name, case=story.fact.case), labelled(draft, card.handling(story)))


def _give(draft: Draft, story: Story) -> None:
    give_back(draft, story)
    draft.say(line("case.given_back", name=story.name))


def give_back(draft: Draft, story: Story, by: Person | None = None) -> None:
    """Nobody has the case any more: the others are shown it again. `by`: who had it, where somebody else says so."""
    had = by or _me(draft)
    write(draft, story, CaseGivenBack(case=story.fact.case, by=had.key))
    free = story_named(draft, story.fact.case) or story
    others = [one for one in audience(draft, story.fact, 1 if draft.group else 3) if one.key != had.key]
    alert(draft, free, others, line("case.free_again"))
    look_after(draft, free, 1, draft.now + again_after(draft))


def _hold(draft: Draft, story: Story) -> None:
    _set_held(draft, story, held=True)


def _free(draft: Draft, story: Story) -> None:
    _set_held(draft, story, held=False)


def _set_held(draft: Draft, story: Story, *, held: bool) -> None:
    write(draft, story, DosesHeld(case=story.fact.case, held=held))
    new = story_named(draft, story.fact.case) or story
    if story.owner:
        told = line("case.hold" if held else "case.let_go", holder=first_name(_me(draft)))
        draft.tell(story.owner, told, () if held else ((GO_ON,),), lane="reply")
    key = "case.held_by_you" if held else "case.freed_by_you"
    draft.say(line(key, name=story.name), labelled(draft, card.handling(new)))


def _test(draft: Draft, story: Story) -> None:
    if story.owner is None or not story.reachable:
        draft.say(line("case.unreachable", name=story.name))
        return
    write(draft, story, TestWanted(at=draft.now + REMIND, why="staff", case=story.fact.case))
    begin = (line("button.test"), encode(CommandButton("test")))
    draft.tell(story.owner, line("case.wants_test", holder=first_name(_me(draft))), ((begin,),), lane="reply")
    draft.say(line("case.test_asked", name=story.name))


def _plan(draft: Draft, story: Story) -> None:
    stack.begin(draft, "prescribe", {"case": story.fact.case})


def _standing(draft: Draft, story: Story) -> None:
    if draft.known.dealer.answers:
        stack.begin(draft, "standing_answer", {"case": story.fact.case})
    else:
        draft.say(line("talk.old_button"))


def _note(draft: Draft, story: Story) -> None:
    stack.begin(draft, "case_note", {"case": story.fact.case})


def _close(draft: Draft, story: Story) -> None:
    stack.drop_about(draft, story.fact.case)
    stack.begin(draft, "close_case", {"case": story.fact.case, "name": story.name})


def _clear(draft: Draft, story: Story) -> None:
    """End a red flag at once; its owner is told, and may go on."""
    holder = story.holder(draft.known.staff)
    stack.drop_about(draft, story.fact.case)
    write(draft, story, CaseCleared(case=story.fact.case, by="staff"))
    others = [
        one
        for one in stories(draft)
        if story.tub and one.tub and one.tub.key == story.tub.key and one.fact.klass == "danger"
    ]
    if story.owner:
        back = back_button(story.fact.case)
        told = line("case.cleared_not_all" if others else "case.cleared", name=first_name(_me(draft)))
        draft.tell(story.owner, told, ((back,) if others else (GO_ON, back),), lane="reply")
    if holder and holder != _me(draft) and crew.holder_at(draft, story) == [holder]:
        told = line("case.cleared_by", holder=first_name(_me(draft)), name=story.name, case=story.fact.case)
        draft.tell(holder, told, lane="reply")
    draft.say(line("case.cleared_by_you", name=story.name))
    for other in others:
        has = other.holder(draft.known.staff)
        buttons = card.answering(other) if has == _me(draft) else card.over(other) if has else card.offered(other)
        draft.say(lines(line("case.same_tub"), card.head(other), gap="\n"), labelled(draft, buttons))


def labelled(draft: Draft, buttons: Buttons) -> tuple[tuple[Button, ...], ...]:
    """Buttons in the words of whoever is talking."""
    return tuple(tuple(Button(label=draft.words.text(label), data=data) for label, data in row) for row in buttons)


def _me(draft: Draft) -> Person:
    assert draft.person
    return draft.person


ACTIONS: dict[str, Callable[[Draft, Story], None]] = {
    "take": _take,
    "over": _take,
    "answer": _answer,
    "give": _give,
    "hold": _hold,
    "free": _free,
    "test": _test,
    "plan": _plan,
    "standing": _standing,
    "note": _note,
    "close": _close,
    "clear": _clear,
}
ANYBODY = ("over", "note", "clear")
"""What may be done with a case that somebody else has."""

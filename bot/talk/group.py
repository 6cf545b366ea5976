"""What comes about in a group: its becoming the group of the dealer's people, and their work on cases in its topics.

Who may act is read from the person at every step; what a group is or who is in it gives nobody a right.
"""

from bot.model.event import Blocked, GroupLapsed, GroupMoved, GroupNamed, Tapped, Unblocked
from bot.model.fact import CaseSaid
from bot.model.group import GROUP_KEY, Topic
from bot.model.person import Address, Person
from bot.talk import card, crew, handling, relay, staff
from bot.talk.buttons import CaseButton, decode
from bot.talk.card import Story
from bot.talk.door import first_serial
from bot.talk.draft import Draft
from bot.talk.rising import alert, audience
from bot.talk.words import line, lines

STAFF = ("technician", "dealer")


def group_step(draft: Draft) -> None:
    """Answer one event of a group. Silent towards what people say to each other, and in groups that are not ours."""
    event = draft.arrival.event
    if isinstance(event, GroupNamed):
        _named(draft, event)
    elif isinstance(event, GroupMoved):
        _moved(draft, event)
    elif not _is_ours(draft):
        if isinstance(event, Unblocked) and _may_act(draft):
            draft.say(line("group.how"))
        elif isinstance(event, Tapped):
            draft.say(line("talk.old_button"))
    elif isinstance(event, Blocked):
        _gone(draft)
    elif isinstance(event, Unblocked):
        if _may_act(draft):
            draft.say(line("group.how"))
    elif isinstance(event, GroupLapsed):
        _lapsed(draft, event)
    else:
        _worked(draft)


def _is_ours(draft: Draft) -> bool:
    return draft.known.group is not None and draft.known.group.address == draft.arrival.address


def _may_act(draft: Draft) -> bool:
    person = draft.person
    return person is not None and person.role in STAFF and person.standing == "active"


def _change(draft: Draft, **values: object) -> None:
    group = draft.known.group
    assert group
    draft.people[group.key] = Person.model_validate({**group.model_dump(), **values})


# -- cases come to a group, or do not any more


def _named(draft: Draft, event: GroupNamed) -> None:
    """From now on cases come to this group; those that are open come at once."""
    if not _may_act(draft):
        _refuse(draft)
        return
    dealer, person = draft.known.dealer, draft.person
    assert person
    draft.people[GROUP_KEY] = Person(
        key=GROUP_KEY,
        dealer=dealer.key,
        name=event.title,
        role="group",
        address=draft.arrival.address,
        language=person.language,
        units=person.units,
        zone=dealer.zone,
    )
    why = None if event.has_topics and event.may_open else _why(event)
    draft.say(lines(line("group.here", dealer=dealer.name), line(f"group.{why}") if why else None))
    for story in handling.stories(draft):
        _show(draft, story)


def _moved(draft: Draft, event: GroupMoved) -> None:
    """Follow our group to its new chat, where its cases are shown anew: buttons of the old chat are out of reach."""
    group, here = draft.known.group, draft.arrival.address
    if group is None or group.address is None or group.address.channel != here.channel:
        return
    if group.address.chat not in (here.chat, event.to):
        return
    if group.address.chat != event.to:
        _change(draft, address=Address(channel=here.channel, chat=event.to))
    if event.arrived:
        for story in handling.stories(draft):
            _show(draft, story)


def _why(event: GroupNamed) -> str:
    return "no_rights" if event.has_topics else "no_topics"


def _show(draft: Draft, story: Story) -> None:
    """Show a case in its topic, with what may be done with it."""
    if draft.group is None:
        return
    holder = story.holder(draft.known.staff)
    said = lines(card.card(story), card.taken_by(story, holder) if holder else None, gap="\n")
    at_home = holder is not None and crew.holder_at(draft, story) == [draft.group]
    buttons = card.handling(story) if at_home else card.over(story) if holder else card.offered(story)
    crew.tell(draft, [draft.group], story, said, buttons, turn="open", card=True)


def _gone(draft: Draft) -> None:
    """Nothing reaches the group any more: its cases go to its people one by one, with what nobody answered yet."""
    group = draft.known.group
    assert group
    if group.standing == "stopped":
        return
    _change(draft, standing="stopped")
    for person in _dealers(draft):
        draft.tell(person, line("group.gone", group=group.name))
    for story in handling.stories(draft):
        holder = story.holder(draft.known.staff)
        if holder is None:
            alert(draft, story, audience(draft, story.fact, 1))
        elif story.state and story.state.in_group:
            draft.tell(holder, card.card(story), card.handling(story))
            for said in _unanswered(story):
                title = line("case.owner_writes", name=story.name, case=story.fact.case)
                relay.send(draft, holder, title, said.text, said.files, card.answering(story))


def _unanswered(story: Story) -> list[CaseSaid]:
    """What the owner said since the dealer's people answered last."""
    said = story.state.said if story.state else []
    answered = max((place for place, one in enumerate(said) if one.side == "staff"), default=-1)
    return said[answered + 1 :]


def _lapsed(draft: Draft, event: GroupLapsed) -> None:
    group = draft.known.group
    assert group
    if event.what == "gone":
        _gone(draft)
    elif event.what == "new":
        if story := handling.story_named(draft, event.case):
            _show(draft, story)
    else:
        for person in _dealers(draft):
            draft.tell(person, line(f"group.told_{event.what}", group=group.name))


def _dealers(draft: Draft) -> list[Person]:
    """Who is told what to change about the group."""
    people = draft.known.staff
    return [person for person in people if person.role == "dealer"] or list(people)


# -- work on a case


def _worked(draft: Draft) -> None:
    """Somebody said or did something in a case's topic, or about a case where there are no topics."""
    event = draft.arrival.event
    pressed = decode(event.data) if isinstance(event, Tapped) else None
    name = pressed.case if isinstance(pressed, CaseButton) else draft.known.case_here or _talked_about(draft)
    story = handling.story_named(draft, name)
    if not name and not isinstance(event, Tapped):
        return
    draft.topic = crew.topic_of(draft, story) if story else Topic(case=name, name=name, turn="close") if name else None
    if not _may_act(draft):
        _refuse(draft)
        return
    if story is None and not isinstance(event, Tapped):
        draft.say(line("case.closed_already", case=name))
        return
    _begin_apart(draft)
    staff.staff_step(draft)


def _begin_apart(draft: Draft) -> None:
    """Everybody's questions are counted from elsewhere, so that nobody answers another's."""
    if draft.conversation.serial == 0 and draft.person:
        draft.conversation = draft.conversation.model_copy(update={"serial": first_serial(draft.person.key)})


def _talked_about(draft: Draft) -> str:
    """The case that this person's open question is about."""
    flows = draft.conversation.flows
    return str(flows[-1].args.get("case", "")) if flows else ""


def _refuse(draft: Draft) -> None:
    person = draft.person
    if person and person.role in STAFF and person.standing == "blocked":
        draft.say(line("group.unblock", name=card.first_name(person)))
    else:
        draft.say(line("group.staff_only", dealer=draft.known.dealer.name))

"""The dealer's people: who they are, and the dealer's taking somebody out."""

from bot.model.person import Person
from bot.model.sought import Seek
from bot.model.trail import Acted
from bot.talk import handling
from bot.talk.buttons import PersonButton, encode
from bot.talk.card import Buttons, cut, first_name
from bot.talk.draft import Draft
from bot.talk.words import line

NAME = 10
"""Characters of a name on a button."""


def team(draft: Draft, _: str) -> None:
    """Who belongs to the dealer's people; the dealer may take somebody out."""
    found = draft.found(Seek(what="team"))
    if found is None:
        return
    for person in found.people:
        has = sum(story.holder(found.people) == person for story in handling.stories(draft))
        said = line(f"team.{person.standing}", name=person.name, role=line(f"role.{person.role}"), count=has)
        draft.say(said, handling.labelled(draft, _remove_button(draft, person, "remove")))


def _remove_button(draft: Draft, person: Person, action: str) -> Buttons:
    if not _may_remove(draft, person):
        return ()
    return (
        ((line(f"team.do.{action}", name=cut(first_name(person), NAME)), encode(PersonButton(person.key, action))),),
    )


def _may_remove(draft: Draft, person: Person) -> bool:
    me = draft.person
    return me is not None and me.role == "dealer" and me.key != person.key and person.standing != "stopped"


def remove(draft: Draft, key: str, action: str) -> None:
    """Take somebody out of the team, with a second tap: their cases go back, their rights are gone at once."""
    found = draft.found(Seek(what="team"))
    if found is None:
        return
    person = next((one for one in found.people if one.key == key), None)
    if person is None or not _may_remove(draft, person):
        draft.say(line("team.may_not"))
        return
    held = [story for story in handling.stories(draft) if story.state and story.state.by == key]
    if action == "remove":
        sure = line("team.sure", name=person.name, count=len(held))
        draft.say(sure, handling.labelled(draft, _remove_button(draft, person, "gone")))
        return
    draft.people[key] = person.model_copy(update={"standing": "stopped"})
    draft.record(Acted(what="removed", about=(key,)))
    for story in held:
        handling.give_back(draft, story, person)
    draft.say(line("team.removed", name=person.name, count=len(held)))
    dealer = draft.known.dealer.name
    draft.tell(person, line("staff.no_longer", dealer=dealer), lane="reply")
    for other in draft.known.staff:
        if other.key not in (key, draft.person.key if draft.person else ""):
            draft.tell(other, line("team.left", name=person.name), lane="reply")

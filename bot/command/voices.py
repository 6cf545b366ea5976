"""Who speaks where in a rehearsal: `Tom` in private, `Tom@Ada` in the topic that Ada's case has in the group."""

from dataclasses import dataclass

from bot.channels.rehearsal import Phones
from bot.command.script import BadLine
from bot.model.event import Event, GroupNamed, Wrote
from bot.model.group import Place

COMMAND = "/cases"


@dataclass(frozen=True)
class Voice:
    """The phone that shows what is said, and where in a group it is said."""

    chat: str
    place: Place | None = None
    case: str = ""

    def said(self, event: Event, phones: Phones) -> Event:
        """The event that this voice brings: in a group one command names it."""
        if self.place and isinstance(event, Wrote) and event.text.strip() == COMMAND:
            return GroupNamed(title=self.chat, has_topics=phones[self.chat].has_topics)
        return event


def voice_of(name: str, group: str, cases: dict[str, str], phones: Phones) -> Voice:
    """Who `name` is. `group` is the dealer's group, `cases` the newest case of each owner."""
    speaker, at, owner = name.partition("@")
    if not at:
        if name and name == group:
            raise BadLine(f"{name} is a group; somebody speaks in it, as in `Tom@Ada: on my way`")
        return Voice(name)
    if not group:
        raise BadLine(f"{name}: there is no group to speak in; cast one, as in `cast group Crew`")
    if owner == group:
        return Voice(group, Place(by=speaker))
    if owner not in cases:
        raise BadLine(f"{name}: {owner} has no case yet, so there is no topic of theirs")
    case = cases[owner]
    thread = phones[group].thread_of(case)
    return Voice(group, Place(by=speaker, thread=thread, case="" if thread else case), case)

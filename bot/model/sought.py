"""What a step of a conversation may ask for beyond what is known around its address, and what was found."""

from typing import Literal

from bot.model.fact import Entry
from bot.model.person import Person
from bot.model.record import Moment, Record
from bot.model.tub import Tub


class Seek(Record):
    """What to look up. The step is taken once more with what was found; until then nothing has changed.

    team: the dealer's people, also those whom nothing reaches; owners: those whose name holds `words`, with their tubs;
    owner: whoever has the key `words`, their tubs, the one they came to last first, and of that one the journal and
    everybody on it;
    cases: everything of the cases, open and closed, since a time;
    trail: who did what since a time: with lists, invites, messages to many, cases, tubs and what is stored;
    tub: what is known around the tub `words` of whoever is talking, in place of what is known around another one.
    """

    what: Literal["team", "owners", "owner", "cases", "trail", "tub"]
    words: str = ""
    since: Moment | None = None


class Found(Record):
    """What was found."""

    what: Literal["team", "owners", "owner", "cases", "trail"]
    people: tuple[Person, ...] = ()
    tubs: tuple[Tub, ...] = ()
    links: tuple[tuple[str, str], ...] = ()
    """(person, tub): the tub that each of the owners was linked to last."""
    entries: tuple[Entry, ...] = ()
    """Oldest first."""

"""What the dealer asks for in their own chat: work on many owners. The desk says what there is."""

from collections.abc import Callable

from bot.talk.buttons import CommandButton, PersonButton, Pressed, RoundButton, encode
from bot.talk.card import Buttons
from bot.talk.draft import Draft
from bot.talk.understand import normalise
from bot.talk.words import SOURCE, Words, has, line

TASKS: dict[str, Callable[[Draft], None]] = {}
"""By command."""
ON_ROUND: list[Callable[[Draft, RoundButton], None]] = []
"""What a button under a round's progress does."""

ON_PERSON: dict[str, Callable[[Draft, str], None]] = {}
"""What the dealer does about an owner, by action."""


def on_person(action: str) -> Callable[[Callable[[Draft, str], None]], Callable[[Draft, str], None]]:
    """Register what a button about an owner does."""

    def register(function: Callable[[Draft, str], None]) -> Callable[[Draft, str], None]:
        ON_PERSON[action] = function
        return function

    return register


def task(name: str) -> Callable[[Callable[[Draft], None]], Callable[[Draft], None]]:
    """Register what the dealer can ask for: `/name`, or the words `office.words.name` of the catalogue."""

    def register(function: Callable[[Draft], None]) -> Callable[[Draft], None]:
        TASKS[name] = function
        return function

    return register


def may(draft: Draft) -> bool:
    """Whether whoever talks has the dealer's rights, in a chat of their own."""
    return draft.person is not None and draft.person.role == "dealer" and not draft.in_group


def press(draft: Draft, pressed: Pressed | None) -> bool:
    """Do what a button of the desk says; False if it is none, or not for whoever tapped it."""
    match pressed:
        case CommandButton(name) if name in TASKS and may(draft):
            TASKS[name](draft)
        case RoundButton() as button if may(draft):
            for does in ON_ROUND:
                does(draft, button)
        case PersonButton(key, action) if action in ON_PERSON and may(draft):
            ON_PERSON[action](draft, key)
        case _:
            return False
    return True


def obey(draft: Draft, text: str) -> bool:
    """Do what the dealer asks for with this text; False if it is something else."""
    name = _wanted(draft, text) if may(draft) else None
    if name is not None:
        TASKS[name](draft)
    return name is not None


def _wanted(draft: Draft, text: str) -> str | None:
    """What the dealer asks for with this text; None if it is something else."""
    said = normalise(text).strip().casefold()
    if said.startswith("/"):
        return next((name for name in TASKS if said == f"/{name}"), None)
    return next((name for name in TASKS if said in _words(draft, name)), None)


def _words(draft: Draft, name: str) -> set[str]:
    if not has(f"office.words.{name}"):
        return set()
    spoken = "|".join(words.text(line(f"office.words.{name}")) for words in (draft.words, Words(SOURCE)))
    return {normalise(word).strip().casefold() for word in spoken.split("|")}


def menu() -> Buttons:
    """What can be asked for, to tap."""
    listed = (name for name in TASKS if has(f"office.do.{name}"))
    return tuple(((line(f"office.do.{name}"), encode(CommandButton(name))),) for name in listed)

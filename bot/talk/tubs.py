"""Somebody who has several tubs: which one is meant is known, named, or asked."""

from bot.model.event import Tapped, Wrote
from bot.schedule.cases import open_state
from bot.talk import stack
from bot.talk.buttons import CommandButton, decode
from bot.talk.draft import WHICH_TUB, Draft
from bot.talk.understand import command, normalise

OF_NO_TUB = frozenset(
    {"start", "stop", "erase", "cancel", "help", "back", "language", "danger", "export", "person", "units", "quiet",
     "settings", "tubs", "open", "pause", "restart_flow"}
)  # fmt: skip
"""Commands that are not about one of them."""


def ask_which(draft: Draft) -> bool:
    """Ask which tub is meant, where several may be and nothing says; True if it was asked or is being turned to."""
    if not draft.names_tub or stack.top(draft):
        return False
    name: str | None
    match draft.arrival.event:
        case Wrote(text=text):
            name, kept = command(text), {"text": text}
            if called := _called(draft, text):
                choose(draft, called)
                return not draft.turn_to(called)
        case Tapped(data=data):
            pressed = decode(data)
            if not isinstance(pressed, CommandButton):
                return False
            name, kept = pressed.command, {"command": pressed.command}
        case _:
            return False
    if (name or "").partition(":")[0] in OF_NO_TUB or _is_meant(draft):
        return False
    stack.begin(draft, WHICH_TUB, {**kept, "tubs": [tub.key for tub in draft.known.tubs]})
    return True


def choose(draft: Draft, tub: str) -> None:
    """From now on that tub is meant, until another is chosen or some time has passed."""
    draft.conversation = draft.conversation.model_copy(update={"tub": tub, "tub_at": draft.now})


def _is_meant(draft: Draft) -> bool:
    """Whether the tub is the one that was chosen, or somebody of the dealer's people talks about it with its owner."""
    if draft.tub is not None and draft.conversation.meant(draft.now) == draft.tub.key:
        return True
    return draft.person is not None and open_state(draft.journal, draft.person.key) is not None


def _called(draft: Draft, text: str) -> str | None:
    """The tub whose name stands in a text, where exactly one does."""
    said = f" {normalise(text).casefold()} "
    names = [(tub.key, f" {normalise(tub.name or tub.model or '').strip().casefold()}") for tub in draft.known.tubs]
    found = {key for key, name in names if len(name) > 2 and any(f"{name}{end}" in said for end in " :,.!?")}
    return found.pop() if len(found) == 1 else None

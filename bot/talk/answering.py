"""What a text means to a question: one of its buttons, or "later", "no" and "no idea", which lead on too."""

from bot.model.message import Button
from bot.talk import stack
from bot.talk.buttons import CommandButton, encode
from bot.talk.draft import Draft
from bot.talk.flow import Again, Heard
from bot.talk.turn import Turn
from bot.talk.understand import agree, later, option, unsure
from bot.talk.words import line


def option_meant(draft: Draft, turn: Turn, text: str) -> int | None:
    """The place of the button that a text means; None where it means none, or is an answer of its own."""
    labels = [draft.words.text(one.label) for one in turn.options]
    is_read = bool(turn.ask and turn.ask.reads and isinstance(turn.ask.reads(text), Heard | Again))
    if is_put_off(text) or (later(text) and not is_read):
        return next((place for place, label in enumerate(labels) if later(label)), None)
    if is_read and text.strip() not in labels:
        return None
    found = option(text, labels)
    if found is not None:
        return found
    if unsure(text):
        return _not_known(turn)
    said = agree(text)
    if said is None:
        return None
    wanted = {"yes", "done", "ok"} if said else {"no"}
    meant = next((place for place, one in enumerate(turn.options) if one.value in wanted), None)
    return meant if meant is not None or said else _other_than_yes(turn)


def label_typed(draft: Draft, turn: Turn, text: str) -> int | None:
    """The button whose words, and no others, were typed: they answer, though they may be a command elsewhere."""
    labels = [draft.words.text(one.label).casefold() for one in turn.options]
    typed = text.strip().casefold()
    return labels.index(typed) if typed in labels else None


def _not_known(turn: Turn) -> int | None:
    """The button for an answer that is not known: "I don't know", else to skip a question (never a step to be done)."""
    values = [one.value for one in turn.options]
    meant = "unknown" if "unknown" in values else "skip"
    return values.index(meant) if meant in values and "done" not in values else None


def _other_than_yes(turn: Turn) -> int | None:
    """What "no" means where a question has "yes" and one other answer, whatever that is called."""
    places = {one.value: place for place, one in enumerate(turn.options) if not one.value.startswith("/")}
    yes = places.pop("yes", None)
    return next(iter(places.values())) if yes is not None and len(places) == 1 else None


def is_put_off(text: str) -> bool:
    """Whether a text says "not now", which is no answer, not even where "no" would be one. A day alone may be one."""
    return later(text) and agree(text) is not None


def leads_on(draft: Draft, turn: Turn, text: str) -> bool:
    """Answer a text that puts off what is open, or does not know; False for any other. It stays open."""
    put_off = later(text) or agree(text) is False
    if turn.wait and (put_off or unsure(text)):
        stack.resume(draft)
    elif unsure(text):
        stack.resume(draft, (line("talk.no_matter"),))
    elif put_off:
        ways = (("button.open", "open"), ("button.person", "person"), ("button.cancel", "cancel"))
        draft.say(line("talk.left_open"), (tuple(_command(draft, label, name) for label, name in ways),))
    else:
        return False
    return True


def _command(draft: Draft, label: str, name: str) -> Button:
    return Button(label=draft.words.text(line(label)), data=encode(CommandButton(name)))

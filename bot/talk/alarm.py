"""The one tap for danger: whom to call at once, then what it is, a button for each kind of first words."""

from bot.model.fact import CaseOpened
from bot.model.message import Button
from bot.schedule.journal import open_cases
from bot.talk import relay
from bot.talk.buttons import CommandButton, encode
from bot.talk.danger import case_of, contacts_of, mistake_button, told_line
from bot.talk.draft import Draft
from bot.talk.words import line, lines

REASON = "alarm"
KINDS: dict[str, tuple[str, int]] = {
    "hurt": ("collapse", 5),
    "shock": ("electric_shock", 1),
    "smoke": ("burning", 2),
    "fumes": ("fumes", 6),
    "swallowed": ("swallowed", 7),
    "splash": ("splash", 7),
    "held": ("held", 3),
    "other": ("other", 5),
}
"""What can be tapped: the first words for it, and the red flag whose contacts are shown."""
_EMERGENCY_AND_POISON = 6


def alarm_button(draft: Draft) -> Button:
    """One tap for danger, to stand under any answer that may have missed one."""
    return Button(label=draft.words.text(line("button.danger")), data=encode(CommandButton("danger")))


def offer_alarm(draft: Draft) -> None:
    """Put the one tap for danger, once, under what was last said here: what was written may have been one."""
    here = draft.person.key if draft.person else ""
    place = max((at for at, said in enumerate(draft.messages) if said.to == here), default=None)
    button = alarm_button(draft)
    if place is None or any(button in row for row in draft.messages[place].buttons):
        return
    said = draft.messages[place]
    draft.messages[place] = said.model_copy(update={"buttons": (*said.buttons, (button,))})


def sound_alarm(draft: Draft, kind: str = "", text: str = "") -> bool:
    """Show whom to call and open a case; then ask what it is, or say the first words for `kind`.

    False where there is no such kind.
    """
    if kind and kind not in KINDS:
        return False
    standing = _standing(draft)
    fact = standing or case_of(draft, text, "danger", (REASON,))
    said, number = KINDS.get(kind, ("now", _EMERGENCY_AND_POISON))
    if kind and standing:
        relay.pass_on(draft, draft.words.text(line(f"alarm.{kind}")), quietly=True)
    words = line(f"alarm.say.{said}") if said in ("now", "splash", "other") else line(f"flag.{said}")
    contacts = contacts_of(draft.known.dealer, number, (draft.person or draft.known.dealer).zone)
    parts = (words, contacts, told_line(draft)) if kind else (contacts, words, told_line(draft))
    draft.say(lines(*parts), (*(() if kind else _kinds(draft)), *mistake_button(draft, fact)), lane="alert")
    return True


def _standing(draft: Draft) -> CaseOpened | None:
    """The alarm that is open already, so that two taps are one case."""
    return next(
        (fact for _, fact in open_cases(draft.journal) if fact.klass == "danger" and REASON in fact.reasons), None
    )


def _kinds(draft: Draft) -> tuple[tuple[Button, ...], ...]:
    buttons = [
        Button(label=draft.words.text(line(f"alarm.{kind}")), data=encode(CommandButton(f"danger:{kind}")))
        for kind in KINDS
    ]
    return tuple(tuple(buttons[at : at + 2]) for at in range(0, len(buttons), 2))

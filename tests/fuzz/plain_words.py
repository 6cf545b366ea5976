"""What anybody may write to any question: the words of a button, that they do not know, later, no, stop."""

from bot.model.event import Wrote
from bot.model.known import Known, Outcome
from bot.talk.stack import is_paused
from bot.talk.step import step
from bot.talk.turn import Turn
from bot.talk.words import catalogue
from tests.talk.world import Actor, World

PLAIN = {
    "en": ("I don't know", "no idea", "later", "not now", "tomorrow", "no", "stop"),
    "de": ("weiß nicht", "keine Ahnung", "später", "nicht jetzt", "morgen", "nein", "stopp"),
    "fr": ("je sais pas", "aucune idée", "plus tard", "pas maintenant", "demain", "non", "stop"),
    "es": ("no sé", "ni idea", "más tarde", "ahora no", "mañana", "no", "basta"),
}
Question = tuple[str, str, tuple[str, ...]]
"""The flow, the question's name without its round, and what its buttons stand for."""


def stuck(world: World, ada: Actor, language: str, seen: set[Question]) -> list[str]:
    """What leads nowhere at the question that is open now, tried without its happening. A question is tried once."""
    turn = ada.turn
    if turn is None or turn.ask is None or _question(turn) in seen or is_paused(ada.draft()):
        return []
    seen.add(_question(turn))
    words = ada.draft().words
    where = f"{turn.open.flow}: {words.text(turn.ask.text)[-80:]!r}"
    found: list[str] = []
    known = ada.known
    for option in turn.options:
        label = words.text(option.label)
        after = _after(world, ada, known, label).conversation
        if not option.value.startswith("/") and (after is None or after.flows == known.conversation.flows):
            found.append(f"the button {label!r} typed, {where}")
    refusal = str(catalogue(language).get("talk.not_understood").string)
    for said in PLAIN[language]:
        messages = _after(world, ada, known, said).messages
        if not messages or any(refusal in message.text for message in messages):
            found.append(f"{said!r}, {where}")
    return found


def _question(turn: Turn) -> Question:
    assert turn.ask
    name = turn.ask.name or turn.ask.key
    return turn.open.flow, name.partition(".")[0], tuple(one.value for one in turn.options)


def _after(world: World, ada: Actor, known: Known, text: str) -> Outcome:
    return step(known, world.arrival(ada.name, Wrote(text=text)), world.clock.now())

"""Walking an owner through a conversation, answering every question by a habit, and keeping what was asked."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tests.talk.world import Actor, World

FORWARD = (
    "Done",
    "Yes, or never wet",
    "It's full now",
    "It's warm now",
    "It works now",
    "Go on",
    "12 L",
    "38 °C",
    "12 °C",
)
"""Buttons that take a fill further, whichever of them is there."""


def question(actor: Actor) -> str:
    """The name of the question that is open, or of the wait (`wait.filling`); nothing when nothing is."""
    turn = actor.turn
    if turn is None:
        return ""
    if turn.ask:
        return turn.ask.name or turn.ask.key
    return f"wait.{turn.wait.key}" if turn.wait else ""


def question_alone(actor: Actor) -> str:
    """The text of the question itself, without what was said before it."""
    return actor.text.split("\n\n")[-1]


@dataclass
class Walk:
    """What an owner met on the way: question names in order, and the texts."""

    actor: Actor
    answers: Mapping[str, str] = field(default_factory=dict)
    """By question name; `[Label]` taps. Whatever is not here is answered by the first button that leads on."""
    asked: list[str] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)

    @property
    def world(self) -> World:
        return self.actor.world

    def on(
        self, *, until: str | None = None, before_each: Callable[[Actor], None] = lambda _: None, limit: int = 150
    ) -> "Walk":
        """Go on until the question `until` is asked or nothing more is."""
        for _ in range(limit):
            if question(self.actor) in ("", until):
                return self
            before_each(self.actor)
            self.step()
        raise AssertionError(f"the conversation does not end: {self.asked[-20:]}")

    def step(self) -> None:
        """Answer the open question, or let the time of a wait pass."""
        name = question(self.actor)
        self.asked.append(name)
        self.texts.append(self.actor.text)
        said = self.answers.get(name)
        if said is None:
            said = next((f"[{label}]" for label in FORWARD if label in self.actor.buttons), None)
        if said is None and name.startswith("wait."):
            turn = self.actor.turn
            assert turn
            assert turn.wait
            self.world.passes(minutes=turn.wait.minutes)
            return
        assert said is not None, f"nobody says what to answer to {name}: {self.actor.text} {self.actor.buttons}"
        if said.startswith("["):
            self.actor.taps(said[1:-1])
        else:
            self.actor.says(said)

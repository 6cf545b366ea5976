"""Walking an owner through a conversation, answering every question by a habit, and keeping what was asked."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field

from tests.talk.world import Actor, World

FORWARD = ("Done", "Yes, or never wet", "It's full now", "It's warm now", "It works now", "Go on", "12 L", "38 °C", "12 °C")
"""Buttons that take a fill further, whichever of them is there."""


@dataclass
class Walk:
    """What an owner met on the way: question names in order, and the texts."""

    actor: Actor
    asked: list[str] = field(default_factory=list)
    texts: list[str] = field(default_factory=list)

    @property
    def world(self) -> World:
        return self.actor.world

    def on(
        self,
        answers: Mapping[str, str] | None = None,
        *,
        until: str | None = None,
        before_each: Callable[[Actor], None] = lambda _: None,
        limit: int = 120,
    ) -> "Walk":
        """Answer by `answers` (by question name; `[Label]` taps), else by the first button that leads on, until the
        question `until` is asked or nothing more is."""
        for _ in range(limit):
            turn = self.actor.turn
            if turn is None or (turn.ask is None and turn.wait is None):
                return self
            name = (turn.ask.name or turn.ask.key) if turn.ask else f"wait.{turn.wait.key}" if turn.wait else ""
            if name == until:
                return self
            self.asked.append(name)
            self.texts.append(self.actor.text)
            before_each(self.actor)
            self._answer(name, answers or {})
        raise AssertionError(f"the conversation does not end: {self.asked[-20:]}")

    def _answer(self, name: str, answers: Mapping[str, str]) -> None:
        said = answers.get(name)
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

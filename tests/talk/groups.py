"""Owners, the dealer's people, and their group, which Dee has had the cases come to."""

from dataclasses import dataclass

from bot.model.message import Message
from tests.talk.world import Actor, Voice, World

QUESTION = "Can I use an old cover?"
SHOCK = "I got an electric shock in the water"
CREW = "Crew"


@dataclass
class Cast:
    """Everybody who takes part. Dee has had the cases come to the group."""

    world: World
    ada: Actor
    bo: Actor
    tom: Actor
    una: Actor
    dee: Actor

    @property
    def group(self) -> list[Message]:
        return self.world.phones[CREW].messages

    @property
    def case(self) -> str:
        return str(self.world.facts("case")[-1].case)

    def voice(self, actor: Actor) -> Voice:
        """Somebody in the topic of the newest case."""
        return actor.at(CREW, self.case)

    @classmethod
    def of(cls, world: World) -> "Cast":
        """All of them in that world."""
        there = cls(
            world,
            world.owner("Ada"),
            world.owner("Bo"),
            world.staff("Tom Tanner"),
            world.staff("Una"),
            world.staff("Dee", role="dealer"),
        )
        there.dee.at(CREW).names_it()
        return there


def asks(cast: Cast, owner: Actor | None = None, question: str = QUESTION) -> str:
    """Somebody has a question; the key of its case."""
    owner = owner or cast.ada
    owner.says("person")
    owner.says(question)
    return cast.case


def topics(cast: Cast) -> list[str]:
    """The case of each topic that is there."""
    return list(cast.world.phones[CREW].topics.values())

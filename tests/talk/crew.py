"""An owner, two technicians and a dealer, and how a case begins."""

from dataclasses import dataclass

from tests.talk.world import Actor, World

QUESTION = "Can I use an old cover?"
SHOCK = "I got an electric shock in the water"


@dataclass
class Crew:
    """Everybody who takes part."""

    world: World
    ada: Actor
    tom: Actor
    una: Actor
    dee: Actor

    @classmethod
    def of(cls, world: World) -> "Crew":
        """A crew in that world."""
        return cls(
            world,
            world.owner("Ada"),
            world.staff("Tom Tanner"),
            world.staff("Una"),
            world.staff("Dee", role="dealer"),
        )


def asked(crew: Crew) -> str:
    """Ada has a question; the key of its case."""
    crew.ada.says("person").says(QUESTION)
    return str(crew.world.facts("case")[-1].case)


def tells_of_bad_water(ada: Actor) -> None:
    """Ada's weekly test says that the water needs acid and chlorine."""
    ada.says("test").taps("Nobody")
    for pad, value in {"fc": "1", "ph": "8.4", "ta": "180", "ch": "150"}.items():
        ada.answers(pad, value)

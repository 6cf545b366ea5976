"""A volume that the doses contradict: is it right, or is it measured anew?"""

from bot.talk.flow import Ask, Change, Flow, Option, Say, Start, flow
from bot.talk.flows.measuring import ask_volume
from bot.talk.words import Volume, line


@flow("check_volume")
def check_volume(start: Start) -> Flow:
    """Args: `litres`, what the tub seems to hold by what its doses did."""
    assert start.tub
    assert start.tub.volume
    filed, likely = Volume(start.tub.volume), Volume(float(str(start.args["litres"])))
    answer = yield Ask(
        "check",
        line("volume.contradicted", likely=likely, filed=filed),
        (
            Option("keep", line("volume.keep")),
            Option("anew", line("volume.anew")),
        ),
        columns=1,
    )
    litres = (yield from ask_volume("new.", start.person.units, by_filling=False)) if answer == "anew" else None
    if litres is None:
        yield Say(line("volume.kept", filed=filed))
        return None
    yield Change("volume", tub={"volume": litres})
    yield Say(line("volume.taken", volume=Volume(litres)))
    return None

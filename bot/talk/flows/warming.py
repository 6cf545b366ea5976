"""Waiting for the water to be warm, and looking at it with a second thermometer before anyone bathes."""

from collections.abc import Generator
from datetime import datetime
from typing import Any

from bot.model.zones import zone
from bot.schedule.local import allowed
from bot.talk.flow import Again, Ask, Doing, Heard, Keep, Option, Say, Start, Wait
from bot.talk.flows.first_fill import TOO_HOT
from bot.talk.flows.hand_over import hand_over
from bot.talk.flows.measuring import BACK
from bot.talk.understand import temperature
from bot.talk.words import Temperature, line

LONG_MINUTES = 120.0
"""A wait after which the water is tested again: pH climbs while it warms. Common practice."""
DISAGREE = 2.0
"""Degrees Celsius between two thermometers from which on one of them is wrong. Common practice."""


def wait_until_warm(start: Start, warm_at: datetime | None) -> Generator[Doing, Any, bool]:
    """Wait for the moment at which it will be warm, or until the owner says so; at night, until morning.

    Returns whether it took so long that another test is wanted.
    """
    warm = Option("warm", line("warming.warm_now"))
    if warm_at is None:
        yield Ask("warming", line("warming.tell_me"), (warm,))
        return True
    ends = allowed(warm_at, start.person.quiet, zone(start.person.zone))
    left = yield Keep("warm.left", lambda live: max(0.0, (ends - live.now).total_seconds() / 60.0))
    minutes = float(str(left))
    if minutes >= 1:
        yield Wait("warming", minutes, line("warming.wait", at=warm_at), (warm,), round(minutes))
    return minutes >= LONG_MINUTES


def two_thermometers(start: Start) -> Generator[Doing, Any, bool]:
    """Compare the panel with a thermometer in the water. Returns False where it is too hot for anyone."""
    own = yield Ask(
        "own_thermometer",
        line("warming.own"),
        (Option("none", line("warming.none")), BACK),
        _reads,
        name="temp",
    )
    if own == "none":
        yield Say(line("warming.get_one"))
        return True
    panel = yield Ask("panel", line("warming.panel"), (BACK,), _reads, name="panel")
    measured, shown = float(str(own)), float(str(panel))
    if measured > TOO_HOT:
        yield from hand_over(start, "too_hot", ("too_hot",), f"{measured:g} degC", "danger")
        yield Say(line("warming.too_hot", measured=Temperature(measured), most=Temperature(TOO_HOT)))
        return False
    if abs(measured - shown) > DISAGREE:
        yield from hand_over(start, "disagree", ("thermometers",), f"{measured:g} / {shown:g} degC")
        yield Say(line("warming.disagree", measured=Temperature(measured), shown=Temperature(shown)))
    return True


def _reads(text: str) -> Heard | Again | None:
    said = temperature(text)
    if said is None:
        return None
    return Heard(str(round(said, 1))) if 0 < said <= 60 else Again(line("fill.water_implausible"))

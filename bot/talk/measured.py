"""From what was said of a reading to what is recorded: only what a tub's water can have, in the chart's numbers."""

from collections.abc import Iterable, Mapping

from bot.talk.understand import OFF_THE_BOTTOM, OFF_THE_TOP
from dosing import Said, Scale
from dosing.readings import POSSIBLE


def possible(key: str, choices: Iterable[float]) -> tuple[float, ...]:
    """Those of several meanings that a tub's water can have."""
    low, high = POSSIBLE[key]
    return tuple(choice for choice in choices if low <= choice <= high)


def can_be(key: str, said: Said) -> bool:
    """Whether a tub's water can read like that; a pad beyond its chart has no number yet."""
    ends = [end for end in (said.low, said.high) if end is not None]
    return said in (OFF_THE_TOP, OFF_THE_BOTTOM) or len(possible(key, ends)) == len(ends)


def spoken(said: Said, key: str, scale: Scale) -> str:
    """The machine form of a reading; a pad beyond its chart takes the chart's last or first number."""
    pads = scale.pads.get(key)
    if said == OFF_THE_TOP:
        return f">{pads[-1] if pads else POSSIBLE[key][1] / 4:g}"
    if said == OFF_THE_BOTTOM:
        lowest = (pads[1] if pads[0] == 0 else pads[0]) if pads else 0
        return f"<{lowest:g}" if lowest else "0"
    return said.text


def measured(values: Mapping[str, Said], scale: Scale) -> dict[str, Said]:
    """The readings of a text as they are recorded; without those that no water has."""
    return {key: Said.parse(spoken(said, key, scale)) for key, said in values.items() if can_be(key, said)}

"""How a tub is called before somebody who has several."""

from collections.abc import Sequence

from bot.model.tub import Tub
from bot.talk.words import Line, line, lines, verbatim


def tub_name(tub: Tub, tubs: Sequence[Tub]) -> Line:
    """The owner's name for it, else its model; its number among `tubs` (newest first) where that says too little."""
    called = tub.name or tub.model
    oldest_first = list(reversed(tubs))
    alike = [one for one in oldest_first if (one.name or one.model) == called]
    if called and len(alike) <= 1:
        return verbatim(called)
    number = next((place for place, one in enumerate(oldest_first, 1) if one.key == tub.key), 1)
    return line("tubs.numbered_name", name=called, number=number) if called else line("tubs.number", number=number)


def named(tub: Tub, tubs: Sequence[Tub], what: Line) -> Line:
    """Something that is said of a tub, under its name."""
    once = list({one.key: one for one in tubs}.values())
    return lines(line("tubs.about", tub=tub_name(tub, once)), what, gap="\n")

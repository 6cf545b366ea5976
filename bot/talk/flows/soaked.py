"""Somebody bathed: how many, for how long, and what the water needs for it."""

from collections.abc import Generator
from typing import Any

from bot.model.fact import Soaked
from bot.talk.flow import Ask, Doing, Flow, Heard, Option, Record, Say, Start, Withdraw, flow
from bot.talk.flows.routine import Occasion, dosed, routine_dose
from bot.talk.understand import count, duration
from bot.talk.words import Span, line

MINUTES = (15, 30, 60, 120)
PEOPLE = (1, 2, 3, 4, 6)


@flow("soaked")
def soaked(start: Start) -> Flow:
    """Write down a soak that has just ended, and name the dose for it. Args: `entry`, the key of a soak
    that has been written down already.
    """
    times = 0
    told = start.args.get("entry")
    while True:
        at = "" if not times else f"again.{times}."
        if told and not times:
            entry = str(told)
        else:
            bathers, minutes = yield from _who_and_how_long(at)
            entry = str((yield Record(f"{at}soaked", Soaked(bathers=bathers, minutes=minutes))))
        passed = yield from routine_dose(start, f"{at}dose.", Occasion(soak=entry))
        if passed != "correct":
            break
        yield Withdraw(f"{at}withdrawn", entry)
        times += 1
    if passed == "nothing":
        yield Say(line("soaked.airing" if told else "soaked.noted"))
    elif passed in ("done", "uneven"):
        yield from dosed(start)
    return None


def _who_and_how_long(at: str) -> Generator[Doing, Any, tuple[int, float]]:
    bathers = yield Ask(
        f"{at}bathers",
        line("soaked.bathers"),
        (*(Option(str(number), line("pads.value", value=number)) for number in PEOPLE), _back()),
        _reads_people,
        name="bathers",
        columns=3,
    )
    minutes = yield Ask(
        f"{at}minutes",
        line("soaked.minutes"),
        (*(Option(str(long), line("soaked.span", span=Span(long))) for long in MINUTES), _back()),
        _reads_minutes,
        name="minutes",
    )
    return int(str(bathers)), float(str(minutes))


def _back() -> Option:
    return Option("/back", line("button.back"))


def _reads_people(text: str) -> Heard | None:
    number = count(text)
    return None if not number else Heard(str(number))


def _reads_minutes(text: str) -> Heard | None:
    long = duration(text)
    return Heard(f"{long:g}") if long is not None and long <= 24 * 60 else None

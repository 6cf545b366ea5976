"""Somebody bathed: how many, and for how long."""

from bot.model.fact import Soaked
from bot.talk.flow import Ask, Flow, Heard, Option, Record, Say, Start, flow
from bot.talk.understand import count, duration
from bot.talk.words import Span, line

MINUTES = (15, 30, 60, 120)
PEOPLE = (1, 2, 3, 4, 6)


@flow("soaked")
def soaked(start: Start) -> Flow:  # noqa: ARG001 - every flow takes what is known
    """Write down a soak that has just ended."""
    bathers = yield Ask(
        "bathers",
        line("soaked.bathers"),
        (*(Option(str(number), line("pads.value", value=number)) for number in PEOPLE), _back()),
        _reads_people,
        columns=3,
    )
    minutes = yield Ask(
        "minutes",
        line("soaked.minutes"),
        (*(Option(str(long), line("soaked.span", span=Span(long))) for long in MINUTES), _back()),
        _reads_minutes,
    )
    yield Record("soaked", Soaked(bathers=int(str(bathers)), minutes=float(str(minutes))))
    yield Say(line("soaked.noted"))
    return None


def _back() -> Option:
    return Option("/back", line("button.back"))


def _reads_people(text: str) -> Heard | None:
    number = count(text)
    return None if number is None else Heard(str(number))


def _reads_minutes(text: str) -> Heard | None:
    long = duration(text)
    return Heard(f"{long:g}") if long is not None and long <= 24 * 60 else None

"""Asking the dealer whom a round is for: criteria tapped one by one, or written in a line."""

from collections.abc import Generator
from typing import Any

from bot.desk.rounds.whom import Unread, read_whom
from bot.talk.flow import Again, Ask, Doing, Heard, Option, Reads
from bot.talk.words import Line, line, verbatim

MOST = 6
"""How many criteria are asked for one after the other; a line may hold more."""
WORDS = ("all", "cartridge", "refill", "untested", "out_of_range", "chlorine", "bromine")
"""Criteria to tap."""
LISTS = ("model", "delivered", "lang", "region", "tag", "serial", "ids")
"""Criteria whose value is written."""
DAYS = {"cartridge": (7, 14, 30), "refill": (7, 14, 30), "untested": (7, 14, 21)}


def ask_whom(turn: int) -> Generator[Doing, Any, str | None]:
    """Ask for criteria; returns them as a line, or None where the dealer wants no round. `turn` tells several times
    of asking apart.
    """
    said: list[str] = []
    for number in range(MOST):
        chosen = yield Ask(f"whom.{turn}.{number}", _question(said), _options(said), _reads(said), name="whom")
        if chosen == "cancel":
            return None
        if chosen == "enough":
            break
        if chosen == "more":
            chosen = yield Ask(f"more.{turn}.{number}", line("bulk.ask.more"), _named(LISTS), name="more")
        if chosen in DAYS:
            days = tuple(Option(str(many), line("bulk.days", count=many)) for many in DAYS[chosen])
            many = yield Ask(
                f"days.{turn}.{number}", line(f"bulk.ask.days.{chosen}"), days, _whole(chosen), name="days"
            )
            chosen = f"{chosen}={many}"
        elif chosen in LISTS:
            value = yield Ask(
                f"value.{turn}.{number}", line(f"bulk.ask.value.{chosen}"), (), _valued(said, chosen), name="value"
            )
            chosen = str(value)
        if chosen == "all":
            return ", ".join(said) or "all"
        said.append(str(chosen))
        if "," in said[-1]:
            break
    return ", ".join(said)


def _question(said: list[str]) -> Line:
    if said:
        return line("bulk.ask.whom_else", whom=verbatim(", ".join(said)))
    return line("bulk.ask.whom")


def _options(said: list[str]) -> tuple[Option, ...]:
    first = (Option("enough", line("bulk.whom.enough")),) if said else ()
    words = [word for word in WORDS if not (said and word == "all") and not any(one.startswith(word) for one in said)]
    last = (Option("more", line("bulk.whom.more")), Option("cancel", line("button.cancel")))
    return (*first, *_named(words), *last)


def _named(words: tuple[str, ...] | list[str]) -> tuple[Option, ...]:
    return tuple(Option(word, line(f"bulk.whom.{word}")) for word in words)


def _reads(said: list[str]) -> Reads:
    """Reads a whole line of criteria."""

    def read(text: str) -> Heard | Again:
        try:
            read_whom(", ".join((*said, text)))
        except Unread as wrong:
            return Again(wrong.line)
        return Heard(text.strip())

    return read


def _valued(said: list[str], name: str) -> Reads:
    """Reads the value of a criterion, as the criterion with it."""
    whole = _reads(said)
    return lambda text: whole(f"{name}={'|'.join(part.strip() for part in text.split(',') if part.strip())}")


def _whole(name: str) -> Reads:
    """Reads a number of days."""
    whole = _reads([])

    def read(text: str) -> Heard | Again | None:
        digits = "".join(letter for letter in text if letter.isdecimal())
        heard = whole(f"{name}={digits or text}")
        return Heard(digits) if isinstance(heard, Heard) else heard

    return read

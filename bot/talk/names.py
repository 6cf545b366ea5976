"""How things are called: readings, products, values."""

from bot.model.fact import ReadingTaken
from bot.schedule.care import Reason
from bot.talk.words import Line, has, line, verbatim
from dosing import Said

LABEL = 20
"""Characters of a button."""


def product_name(key: str | None) -> Line:
    """A product by the catalogue's name, or by its own key where the dealer added it."""
    if key is None:
        return line("unknown")
    return line(f"product.{key}") if has(f"product.{key}") else verbatim(key.replace("_", " "))


def product_label(key: str) -> Line:
    """A product as it stands on a button."""
    return line(f"product.short.{key}") if has(f"product.short.{key}") else verbatim(key.replace("_", " ")[:LABEL])


def said_line(said: Said) -> Line:
    """A value as it was said: 7.4, 7.2 to 7.8, under 1, over 10."""
    match said.kind:
        case "range":
            return line("said.range", low=_spoken(said.low), high=_spoken(said.high))
        case "below":
            return line("said.below", high=_spoken(said.high))
        case "above":
            return line("said.above", low=_spoken(said.low))
        case _:
            return line("said.value", value=_spoken(said.low))


def _spoken(value: float | None) -> float | None:
    """A number as people say it: degrees of hardness in mg/L are whole numbers."""
    if value is None or abs(value) < 20:
        return value
    return round(value)


def reading_line(reading: ReadingTaken) -> tuple[Line, ...]:
    """The values of a reading, in the order in which they were told."""
    return tuple(
        line("reading.value", name=line(f"reading.{key}"), value=said_line(said))
        for key, said in reading.values.items()
    )


def reason_line(what: str, reason: Reason) -> Line:
    """Why a test or a change of water falls on its day."""
    numbers = {name: round(value, 1 if abs(value) < 10 else None) for name, value in reason.numbers.items()}
    return line(f"reason.{what}.{reason.code}", **numbers)

"""What a tub is like, as far as it changes what is to be done and nobody has said: one tap a question."""

import re
from collections.abc import Callable, Generator
from dataclasses import dataclass
from typing import Any

from bot.model.person import Units
from bot.model.tub import Tub
from bot.talk.flow import Again, Ask, Change, Doing, Heard, Option, Reads, Say
from bot.talk.flows.measuring import BACK, UNKNOWN, ask_volume
from bot.talk.understand import count, normalise
from bot.talk.words import has, line

Value = str | int | float | bool


@dataclass(frozen=True, slots=True)
class Wanted:
    """A field of the tub, the answers offered for it, how others are read, and for which tubs it matters."""

    field: str
    answers: tuple[Value, ...]
    reads: Reads | None = None
    matters: Callable[[Tub], bool] = lambda _: True
    can_be_unknown: bool = True
    columns: int = 2


def _reads_count(most: int) -> Reads:
    def read(text: str) -> Heard | Again | None:
        said = count(text)
        if said is None:
            return None
        return Heard(str(said)) if 1 <= said <= most else Again(line("about.implausible_count", most=most))

    return read


def _reads_kilowatts(text: str) -> Heard | Again | None:
    """`5.5 kW`, `5,5`, `3000 W`."""
    found = re.search(r"(\d+(?:[.,]\d+)?)", normalise(text).replace(" 000", "000"))
    if found is None:
        return None
    said = float(found[1].replace(",", "."))
    kilowatts = said / 1000.0 if said > 100 else said
    return Heard(str(kilowatts)) if 0.5 <= kilowatts <= 30 else Again(line("about.implausible_heater"))


def _reads_words(text: str) -> Heard | None:
    said = " ".join(text.split())
    return Heard(said) if 0 < len(said) <= 40 else None


TO_FILL: tuple[Wanted, ...] = (
    Wanted("supply", ("plug_in", "hard_wired"), columns=1),
    Wanted("pumps", (1, 2, 3), _reads_count(6), columns=3),
    Wanted("filters", (1, 2), _reads_count(6)),
    Wanted("fill_well", ("left", "right"), _reads_words, lambda tub: (tub.filters or 1) > 1),
    Wanted("purifier", ("ozone", "uv", "both", "none")),
    Wanted("heater_kw", (2.0, 3.0, 4.0, 5.5), _reads_kilowatts, lambda tub: tub.supply == "hard_wired"),
    Wanted("water_source", ("mains", "well", "softened")),
    Wanted("past", ("factory_new", "wet_tested", "used", "stored"), columns=1),
)
"""What matters to a first fill alone."""

ALWAYS: tuple[Wanted, ...] = (
    Wanted("cartridge", (True, False)),
    Wanted("bathers", (1, 2, 3, 4, 5, 6), _reads_count(12), can_be_unknown=False, columns=3),
    Wanted("soaks_per_week", (0.5, 1.0, 2.0, 3.5, 7.0), None, can_be_unknown=False),
)
"""What matters to water care."""


def ask_volume_and_sanitizer(tub: Tub, at: str, units: Units, *, empty: bool) -> Generator[Doing, Any, Tub]:
    """Volume and sanitizer, where nobody has said."""
    if tub.sanitizer is None:
        tub = yield from _ask(tub, Wanted("sanitizer", ("chlorine", "bromine")), at)
        if tub.sanitizer is None:
            yield Say(line("about.sanitizer.unknown"))
    if tub.volume is None and (litres := (yield from ask_volume(at, units, by_filling=empty))) is not None:
        yield Change(f"{at}set.volume", tub={"volume": litres})
        tub = tub.model_copy(update={"volume": litres})
    return tub


def ask_about(tub: Tub, wanted: tuple[Wanted, ...], at: str) -> Generator[Doing, Any, Tub]:
    """Ask for what is wanted and not known; returns the tub as known then."""
    for one in wanted:
        if getattr(tub, one.field) is None and one.matters(tub):
            tub = yield from _ask(tub, one, at)
    return tub


def _ask(tub: Tub, wanted: Wanted, at: str) -> Generator[Doing, Any, Tub]:
    field = wanted.field
    options = (
        *(Option(str(value), line(_label(field, value), value=value)) for value in wanted.answers),
        *((UNKNOWN,) if wanted.can_be_unknown else ()),
        BACK,
    )
    text = line(f"about.{field}")
    answer = yield Ask(f"{at}{field}", text, options, wanted.reads, name=field, columns=wanted.columns)
    if answer == "unknown":
        return tub
    changed = Tub.model_validate({**tub.model_dump(), field: _value(wanted, str(answer))})
    yield Change(f"{at}set.{field}", tub={field: getattr(changed, field)})
    return changed


def _label(field: str, value: Value) -> str:
    """The key of an answer's words: `about.pumps.2`, `about.heater_kw.5_5`."""
    own = f"about.{field}.{value if isinstance(value, bool | str) else format(value, 'g').replace('.', '_')}"
    return own if has(own) else "about.value"


def _value(wanted: Wanted, answer: str) -> Value:
    """The answer as the field holds it: an offered value as offered, another one as read."""
    offered = {str(value): value for value in wanted.answers}
    return offered.get(answer, answer)

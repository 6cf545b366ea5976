"""The steps of a first fill, as a list that reads in order: each with the tubs that it is for and how it is worded.

The words of a step are `fill.KEY.do`, `fill.KEY.why` and `fill.KEY.causes`; where a step is worded in several ways, the
way stands between: `fill.power.plug_in.do`.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Literal

from bot.model.tub import Tub
from bot.talk.words import Line, has, line, verbatim


@dataclass(frozen=True, slots=True)
class FillStep:
    """One thing to do: `matters` says for which tubs, `way` which of several wordings, `caution` what is warned of."""

    key: str
    matters: Callable[[Tub], bool] = lambda _: True
    way: Callable[[Tub], str] = lambda _: ""
    caution: Literal["electricity"] | None = None

    def words(self, part: str, tub: Tub) -> Line:
        """The sentence of this step: `do`, `why` or `causes`."""
        way = self.way(tub)
        own = f"fill.{self.key}.{way}.{part}"
        return line(own if way and has(own) else f"fill.{self.key}.{part}", well=well_of(tub), pumps=tub.pumps or 1)


def well_of(tub: Tub) -> Line:
    """Which filter's well the hose goes into."""
    if tub.fill_well is None:
        return line("fill.well.unknown" if (tub.filters or 1) > 1 else "fill.well.only")
    known = f"fill.well.{tub.fill_well}"
    return line(known) if has(known) else line("fill.well.named", name=verbatim(tub.fill_well))


def needs_purge(tub: Tub) -> bool:
    """Whether water has stood in the pipes before: for all but a tub known to be new and dry."""
    return tub.past != "factory_new"


def supply(tub: Tub) -> str:
    """How the tub is fed; where nobody knows, worded for both."""
    return tub.supply or "either"


def several_pumps(tub: Tub) -> str:
    """Whether the pumps are started one after another; nothing where nobody knows how many there are."""
    if not tub.pumps:
        return ""
    return "one" if tub.pumps == 1 else "several"


def purifier(tub: Tub) -> str:
    """What cleans the water beside the sanitizer."""
    return tub.purifier or "none"


PURGE: tuple[FillStep, ...] = (
    FillStep("purge_fill"),
    FillStep("purge_power", way=supply, caution="electricity"),
    FillStep("purge_run"),
    FillStep("purge_drain", way=supply),
)
"""A fill of its own, to clean the pipes of a tub that has held water."""

BEFORE_WATER: tuple[FillStep, ...] = (
    FillStep("site"),
    FillStep("cover"),
    FillStep("sign_off", way=supply),
)
DRY: tuple[FillStep, ...] = (
    FillStep("drains"),
    FillStep("valves"),
    FillStep("hose_rinse"),
)
HOSE: tuple[FillStep, ...] = (
    FillStep("softener", lambda tub: tub.water_source == "softened"),
    FillStep("pre_filter", lambda tub: tub.water_source == "well"),
    FillStep("binder", lambda tub: tub.water_source == "well"),
    FillStep("hose_in", way=lambda tub: "several" if (tub.filters or 1) > 1 else ""),
)
FULL: tuple[FillStep, ...] = (
    FillStep("level"),
    FillStep("filter_in", way=lambda tub: "several" if (tub.filters or 1) > 1 else ""),
)
RUNNING: tuple[FillStep, ...] = (
    FillStep("power", way=supply, caution="electricity"),
    FillStep("ground_fault"),
    FillStep("jets", way=several_pumps),
    FillStep("air"),
    FillStep("faces"),
    FillStep("leaks"),
    FillStep("purifier", lambda tub: purifier(tub) != "none", purifier),
    FillStep("filter_hours", way=supply),
)
ALL: tuple[FillStep, ...] = (*BEFORE_WATER, *PURGE, *DRY, *HOSE, *FULL, *RUNNING)

"""The strip's own bias: a better pH once for each bottle, and a new bottle when one is opened."""

from collections.abc import Generator
from datetime import timedelta
from typing import Any

from pydantic import JsonValue

from bot.model.fact import Added, ReadingTaken, StripsOpened
from bot.model.tub import Method
from bot.schedule.journal import last, last_at
from bot.talk.flow import Again, Ask, Doing, Flow, Heard, Keep, Live, Option, Record, Say, Start, flow
from bot.talk.flows.measuring import BACK
from bot.talk.flows.pads import Pads, reader
from bot.talk.understand import Doubt, number
from bot.talk.words import line
from dosing import Said

SAME_WATER = timedelta(hours=3)
"""How far apart the strip's reading and the better one may lie, with nothing added between."""


@flow("better_ph")
def better_ph(start: Start) -> Flow:
    """A pH from a drop test, a meter or a shop, beside what the strip says of the same water."""
    assert start.tub
    have = yield Ask(
        "have",
        line("better_ph.ask"),
        (
            Option("now", line("better_ph.have")),
            Option("later", line("better_ph.later")),
            Option("never", line("better_ph.never")),
        ),
        columns=1,
    )
    if have != "now":
        yield Say(line("better_ph.how" if have == "later" else "better_ph.without"))
        return None
    way = yield Ask(
        "way",
        line("better_ph.way"),
        (
            Option("drops", line("better_ph.drops")),
            Option("shop", line("better_ph.shop")),
            Option("meter", line("better_ph.meter")),
            BACK,
        ),
        columns=1,
    )
    said = Said.parse(str((yield Ask("ph", line("better_ph.value"), (BACK,), _reads_ph, name="better_ph"))))
    yield from _strip_beside(start)
    method: Method = "drops" if way == "drops" else "meter"
    yield Record("better", ReadingTaken(values={"ph": said}, method=method))
    yield Say(line("better_ph.thanks"))
    return None


def _reads_ph(text: str) -> Heard | Again | None:
    match number(text, "ph"):
        case Doubt() as doubt:
            return Again(line(f"pads.again.{doubt.code}", reading=line("reading.ph")))
        case Said(kind="value", low=value):
            return Heard(f"{value:g}")
    return None


def _strip_beside(start: Start) -> Generator[Doing, Any, None]:
    """What the strip says of the same water, unless it was told just now."""
    assert start.tub
    there = yield Keep("beside", _strip_lately)
    if there:
        return
    pads = Pads(("ph",), start.tub.scale or start.dealer.scale, "strip", start.tub.sanitizer or "chlorine")
    options = tuple(Option(f"{pad:g}", line("pads.value", value=pad)) for pad in pads.scale.pads.get("ph", ()))
    answer = yield Ask(
        "strip", line("better_ph.strip"), (*options, BACK), reader("strip.", "ph", pads), "ph", columns=3
    )
    if isinstance(answer, str):
        yield Record("strip.reading", ReadingTaken(values={"ph": Said.parse(answer)}, method="strip"))


def _strip_lately(live: Live) -> JsonValue:
    read = last(
        live.journal, ReadingTaken, lambda fact: not fact.source and fact.method == "strip" and "ph" in fact.values
    )
    if read is None or live.now - read[0].at > SAME_WATER:
        return False
    poured = last_at(live.journal, Added)
    return poured is None or poured < read[0].at


@flow("new_strips")
def new_strips(_: Start) -> Flow:
    """A new bottle of strips: what was learned of the old one's bias no longer holds."""
    yield Record("opened", StripsOpened())
    yield Say(line("strips.noted"))
    return None

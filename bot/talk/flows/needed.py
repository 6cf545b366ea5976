"""What a dose needs to know before the pads: volume, sanitizer, and which of the rarer pads are due."""

from collections.abc import Generator, Mapping, Sequence
from datetime import timedelta
from typing import Any, Literal

from pydantic import JsonValue

import dosing
from bot.model.fact import ReadingTaken
from bot.model.tub import Tub
from bot.schedule.journal import filled_at, known_to_dosing
from bot.talk.flow import Ask, Change, Doing, Heard, Keep, Live, Option, Say, Start
from bot.talk.understand import Doubt, volume
from bot.talk.words import line
from dosing import Said

Purpose = Literal["test", "startup", "shock"]


def tub_for_dosing(start: Start, at: str) -> Generator[Doing, Any, Tub | None]:
    """The tub with the volume and sanitizer that a dose needs, asked for where nobody has said."""
    tub = start.tub
    assert tub
    known = yield Keep(f"{at}known", lambda live: _profile(live, start))
    assert isinstance(known, dict)
    litres, sanitizer = known["volume"], known["sanitizer"]
    if litres is None:
        litres = yield Ask(
            f"{at}volume",
            line("round.volume"),
            (Option("unknown", line("button.dont_know")),),
            _reads_volume,
            name="volume",
        )
        if litres == "unknown":
            yield Say(line("round.no_volume"))
            return None
        yield Change(f"{at}set_volume", tub={"volume": float(str(litres))})
    if sanitizer is None:
        options = tuple(Option(name, line(f"sanitizer.{name}")) for name in ("chlorine", "bromine"))
        sanitizer = yield Ask(f"{at}sanitizer", line("round.sanitizer"), options, name="sanitizer")
        yield Change(f"{at}set_sanitizer", tub={"sanitizer": sanitizer})
    return Tub.model_validate({**tub.model_dump(), "volume": float(str(litres)), "sanitizer": sanitizer})


def _profile(live: Live, start: Start) -> JsonValue:
    tub = live.known.tub or start.tub
    assert tub
    return {"volume": tub.volume, "sanitizer": tub.sanitizer}


def _reads_volume(text: str) -> Heard | None:
    match volume(text):
        case None | Doubt():
            return None
        case litres:
            return Heard(round(litres, 1))


def due_pads(at: str, purpose: Purpose, told: Mapping[str, Said]) -> Generator[Doing, Any, Sequence[str]]:
    """Hardness and cyanuric acid: at a start-up and once a month, at most one beside the weekly pads."""
    due = yield Keep(f"{at}due", lambda live: list(_monthly(live, purpose)))
    assert isinstance(due, list)
    return () if len(told) > 1 else tuple(str(key) for key in due)


def _monthly(live: Live, purpose: Purpose) -> Sequence[str]:
    if purpose == "startup":
        return ("ch",)
    month = live.now - timedelta(days=30)
    read = {
        key
        for entry in live.journal
        if isinstance(entry.fact, ReadingTaken) and not entry.fact.source and entry.at >= month
        for key in entry.fact.values
    }
    filled = filled_at(live.journal)
    stabilised = any(
        isinstance(past, dosing.Addition) and past.substances.get("sodium_dichlor", 0) > 0
        for past in known_to_dosing(live.journal, live.now)
    )
    wanted = ["ch"] if not {"ch", "th"} & read else []
    if stabilised and "cya" not in read and filled and filled < month:
        wanted.append("cya")
    return wanted[:1]

"""What a dose needs to know before the pads: volume, sanitizer, and which of the rarer pads are due."""

from collections.abc import Generator, Mapping, Sequence
from datetime import timedelta
from typing import Any, Literal

from pydantic import JsonValue

import dosing
from bot.model.fact import ReadingTaken
from bot.model.tub import Tub
from bot.schedule.journal import filled_at, known_to_dosing
from bot.talk.flow import Doing, Keep, Live, Say, Start
from bot.talk.flows.about_tub import ask_volume_and_sanitizer
from bot.talk.words import line
from dosing import Said

Purpose = Literal["test", "startup", "shock"]


def tub_for_dosing(start: Start, at: str) -> Generator[Doing, Any, Tub | None]:
    """The tub with the volume and sanitizer that a dose needs, asked for where nobody has said; None without them."""
    assert start.tub
    known = yield Keep(f"{at}known", lambda live: _profile(live, start))
    tub = Tub.model_validate({**start.tub.model_dump(), **known})
    tub = yield from ask_volume_and_sanitizer(tub, at, start.person.units, empty=False)
    if tub.volume is None:
        yield Say(line("round.no_volume"))
    return tub if tub.volume is not None and tub.sanitizer is not None else None


def _profile(live: Live, start: Start) -> JsonValue:
    """Volume and sanitizer by what is known now, or else by what was known when the flow began."""
    known = {"volume": None, "sanitizer": None}
    for tub in (start.tub, live.known.tub):
        told = tub.model_dump(include=set(known)) if tub else {}
        known.update({field: value for field, value in told.items() if value is not None})
    return dict(known)


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

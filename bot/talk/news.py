"""What of that which an owner tells is news to the record, and what the record says of the rest."""

from datetime import datetime, timedelta

from bot.schedule.journal import filled_at
from bot.talk.draft import Draft
from bot.talk.understand.events import EventHeard
from bot.talk.words import Line, line

SLACK, SHARE = timedelta(days=4), 0.2
"""How far off the age of the water is remembered (common practice)."""


def news(draft: Draft, told: tuple[EventHeard, ...]) -> tuple[tuple[EventHeard, ...], tuple[Line, ...]]:
    """What is to be written down, and the record's answer where the age of the water is none of it."""
    filled = filled_at(draft.journal)
    kept = tuple(event for event in told if event.kind != "glass" and not _on_record(event, filled, draft.now))
    if filled is None or not any(_on_record(event, filled, draft.now) for event in told):
        return kept, ()
    return kept, (line("freely.water_since", day=filled.astimezone(draft.words.zone).date()),)


def _on_record(event: EventHeard, filled: datetime | None, now: datetime) -> bool:
    """Whether it tells an age of the water that the record knows as well or better: as old as that, or older."""
    return (
        event.kind == "water_since" and filled is not None and event.at - filled <= max(SLACK, SHARE * (now - filled))
    )

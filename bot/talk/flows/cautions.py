"""Cautions: in full the first time, in short from then on."""

from collections.abc import Generator
from typing import Any, Literal

from bot.model.fact import Warned
from bot.schedule.journal import facts
from bot.talk.flow import Doing, Keep, Record
from bot.talk.words import Line, line


def warn(key: str, about: Literal["electricity", "heat"]) -> Generator[Doing, Any, Line]:
    """The caution, in full if this tub's people have never been shown it; that it was shown is recorded."""
    again = yield Keep(f"{key}.warned", lambda live: any(f.caution == about for _, f in facts(live.journal, Warned)))
    if not again:
        yield Record(f"{key}.caution", Warned(caution=about))
    return line(f"fill.caution.{about}.{'short' if again else 'full'}")

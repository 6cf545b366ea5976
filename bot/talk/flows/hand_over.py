"""Handing a question over to the dealer's people from within a conversation."""

from collections.abc import Generator
from typing import Any, Literal

from pydantic import JsonValue

from bot.model.fact import CaseOpened
from bot.schedule.journal import open_cases
from bot.talk.cases import new_case
from bot.talk.flow import Doing, Keep, Live, Record, Start

Klass = Literal["danger", "water", "stuck", "question"]


def hand_over(
    start: Start, key: str, reasons: tuple[str, ...], text: str = "", klass: Klass = "stuck"
) -> Generator[Doing, Any, bool]:
    """Open a case, unless one of this class with these reasons is open already. Returns whether it is a new one."""
    name = yield Keep(f"{key}.name", lambda live: _name(live, start, reasons, klass))
    if name is None:
        return False
    yield Record(key, CaseOpened(case=str(name), klass=klass, reasons=reasons, text=text))
    return True


def _name(live: Live, start: Start, reasons: tuple[str, ...], klass: Klass) -> JsonValue:
    standing = {reason for _, fact in open_cases(live.journal) if fact.klass == klass for reason in fact.reasons}
    return None if reasons and set(reasons) <= standing else new_case(live.journal, start.person)

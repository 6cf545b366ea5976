"""Handing a question over to the dealer's people from within a conversation."""

from collections.abc import Generator
from typing import Any, Literal

from pydantic import JsonValue

from bot.model.fact import CaseOpened
from bot.schedule.journal import open_cases
from bot.talk.cases import new_case
from bot.talk.flow import Doing, Keep, Live, Record, Say, Start
from bot.talk.words import line

Klass = Literal["danger", "water", "stuck", "question"]


def hand_over(
    start: Start, key: str, reasons: tuple[str, ...], text: str = "", klass: Klass = "stuck"
) -> Generator[Doing, Any, None]:
    """Open a case, unless one of this class with these reasons is open already, and say who has it now."""
    name = yield Keep(f"{key}.name", lambda live: _name(live, start, reasons, klass))
    staff = yield Keep(f"{key}.staff", lambda live: bool(live.known.staff))
    if name is not None:
        yield Record(key, CaseOpened(case=str(name), klass=klass, reasons=reasons, text=text))
    if name is not None or klass == "stuck":
        yield Say(line("round.person" if staff else "round.call_them", dealer=start.dealer.name))


def _name(live: Live, start: Start, reasons: tuple[str, ...], klass: Klass) -> JsonValue:
    """The key of a new case; None where people know already: water that is not fit is one case, whatever shows it."""
    same = [fact for _, fact in open_cases(live.journal) if fact.klass == klass]
    known = {reason for fact in same for reason in fact.reasons}
    told = bool(same) if klass == "water" else bool(reasons) and set(reasons) <= known
    return None if told else new_case(live.journal, start.person)

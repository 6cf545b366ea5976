"""Test, plan, dose, wait and test again, until the water is in range or a person is needed."""

from collections.abc import Generator, Mapping, Sequence
from dataclasses import replace
from datetime import datetime
from typing import Any

from bot.model.fact import ReadingTaken, Warned
from bot.model.tub import Method
from bot.schedule.cases import doses_held
from bot.schedule.journal import last
from bot.talk.flow import Doing, Keep, Record, Say, Start, Withdraw
from bot.talk.flows.carry_out import Sitting, Test, plan_and_do
from bot.talk.flows.needed import Purpose, due_pads, tub_for_dosing
from bot.talk.flows.pads import ALL, Pads, Unclear, ask_pads, ask_which, understood_line
from bot.talk.flows.walk_plan import TOMORROW, Ended, Goes, Result, test_wanted
from bot.talk.words import Line, line, lines
from dosing import Said

MOST_ROUNDS = 6
"""Tests in one sitting; whatever is not in range by then goes on the next day (common practice)."""


def dosing_round(
    start: Start,
    *,
    prefix: str,
    purpose: Purpose = "test",
    prefilled: Mapping[str, Said] | None = None,
    unclear: Sequence[Unclear] = (),
    extra: Sequence[str] | None = None,
    method: Method | None = None,
    head: Line | None = None,
    after_dose: bool = False,
) -> Generator[Doing, Any, Ended]:
    """Ask for a test of the water, compute the plan, walk through its steps and retests.

    Use with `yield from`. `prefix` makes its keys unique within the flow. `prefilled` are readings told already,
    `unclear` what could be two things among them, `extra` the readings to ask for besides sanitizer, pH and alkalinity
    (None: those that are due), `method` how it was tested where that is not as usual; `head` is said with the first
    question; `after_dose`: something went in just before. Every reading, plan and addition is recorded.
    """
    tub = yield from tub_for_dosing(start, f"{prefix}tub.")
    if tub is None:
        return Ended("unknown")
    sitting = Sitting(start, tub, purpose)
    for number in range(1, MOST_ROUNDS + 1):
        at = f"{prefix}{number}."
        if number == 1:
            told = dict(prefilled or {})
            more = extra if extra is not None else (yield from due_pads(at, purpose, told))
            hint = None if told else (yield from _how_to_dip(at, tub.method))
            understood = understood_line(told) if told else None
            said = lines(head, understood, hint) if head or understood or hint else None
            pads = _pads(sitting, more)
            pads = replace(pads, method=method) if method else pads
            test = replace((yield from _test(at, pads, told, unclear, said)), after_dose=after_dose)
        else:
            test = replace((yield from _test(at, _pads(sitting))), after_dose=True)
        if (yield Keep(f"{at}held", lambda live: doses_held(live.journal))):
            yield Say(line("case.reading_kept"))
            return Ended("person")
        result = yield from _settle(sitting, at, test)
        if isinstance(result, Ended):
            return result
    yield Say(line("round.enough_today"))
    yield from test_wanted(start, f"{prefix}enough", TOMORROW, "rest")
    return Ended("later")


def _settle(sitting: Sitting, at: str, test: Test) -> Generator[Doing, Any, Result]:
    """Carry out what a test asks for; readings told wrong are corrected and the plan is made anew."""
    times = 0
    while True:
        result = yield from plan_and_do(sitting, at, test)
        if result != Goes("correct"):
            return result
        times += 1
        at = f"{at}fix.{times}."
        test = yield from _corrected(sitting, at, test)


def _pads(sitting: Sitting, more: Sequence[str] = ()) -> Pads:
    sanitizer = "br" if sitting.tub.sanitizer == "bromine" else "fc"
    wanted = (sanitizer, "ph", "ta", *more)
    return Pads(wanted, sitting.scale, sitting.tub.method, sitting.tub.sanitizer or "chlorine")


def _test(
    at: str,
    pads: Pads,
    told: Mapping[str, Said] | None = None,
    unclear: Sequence[Unclear] = (),
    head: Line | None = None,
) -> Generator[Doing, Any, Test]:
    """Ask for the pads and record them."""
    values, method = yield from ask_pads(at, pads, told, unclear, head)
    entry = yield Record(f"{at}reading", ReadingTaken(values=values, method=method))
    told = yield Keep(f"{at}told", lambda live: live.now.isoformat())
    return Test(values, method, str(entry), datetime.fromisoformat(str(told)), after_dose=False)


def _corrected(sitting: Sitting, at: str, test: Test) -> Generator[Doing, Any, Test]:
    """Ask which reading was told wrong and what is right; the wrong test is taken back."""
    which = yield from ask_which(f"{at}which", test.values)
    yield Withdraw(f"{at}withdrawn", test.entry)
    right = {key: said for key, said in test.values.items() if which not in (key, ALL)}
    pads = replace(_pads(sitting), wanted=tuple(test.values), method=test.method)
    return replace((yield from _test(at, pads, right)), at=test.at, after_dose=test.after_dose)


def _how_to_dip(at: str, method: str) -> Generator[Doing, Any, Line | None]:
    """How to use a strip, the first time."""
    said = yield Keep(
        f"{at}dip", lambda live: last(live.journal, Warned, lambda fact: fact.caution == "dip") is not None
    )
    if said or method != "strip":
        return None
    yield Record(f"{at}dipped", Warned(caution="dip"))
    return line("round.dip")

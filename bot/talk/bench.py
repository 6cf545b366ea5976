"""Where staff work on a plan: the tub of a case, its test, and the water after what is proposed."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from pydantic import JsonValue, TypeAdapter

import dosing
from bot.model.dealer import Dealer
from bot.model.fact import Added, Entry, ReadingTaken
from bot.model.known import Case
from bot.model.tub import Tub
from bot.schedule.journal import known_to_dosing, last
from bot.talk.advice import said_numbers
from bot.talk.amounts import mass
from bot.talk.names import product_name, reading_line
from bot.talk.words import Line, Span, Volume, line, lines
from dosing import Kit, Objection, Proposal, Proposed, Spread, limits_for

PROPOSED: TypeAdapter[tuple[Proposed, ...]] = TypeAdapter(tuple[Proposed, ...])
PROPOSAL: TypeAdapter[Proposal] = TypeAdapter(Proposal)
SHOWN = ("ph", "ta", "fc", "br", "ch", "saturation_index")
"""What is said of the water after a plan, in this order."""


@dataclass(frozen=True)
class Bench:
    """The tub of a case as it is known now."""

    tub: Tub
    dealer: Dealer
    journal: tuple[Entry, ...]
    now: datetime

    @classmethod
    def of(cls, case: Case, dealer: Dealer, journal: tuple[Entry, ...], now: datetime) -> "Bench | None":
        """None for a case of no tub."""
        return cls(case.tub, dealer, journal, now) if case.tub else None

    @property
    def kit(self) -> Kit:
        """The products at hand."""
        return self.tub.kit or self.dealer.kit

    @property
    def test(self) -> tuple[Entry, ReadingTaken] | None:
        """The newest test, if a dose may still rest on it."""
        found = last(self.journal, ReadingTaken, lambda fact: not fact.source)
        hours = limits_for(self.dealer.locale).reading_hours
        return found if found and self.now - found[0].at <= timedelta(hours=hours) else None

    @property
    def newest(self) -> str:
        """The key of what was tested or added last: who looked before that has to look again."""
        entries = [entry for entry in self.journal if isinstance(entry.fact, ReadingTaken | Added)]
        return entries[-1].key if entries else ""

    def computed(self) -> tuple[Proposed, ...]:
        """What the bot would do."""
        test = self.test
        if test is None:
            return ()
        made = dosing.plan(
            volume=self.tub.volume,
            sanitizer=self.tub.sanitizer,
            reading=self._reading(test),
            kit=self.kit,
            scale=self.tub.scale or self.dealer.scale,
            history=self._history(test[0]),
            limits=limits_for(self.dealer.locale),
        )
        return dosing.proposed_in(made)

    def foreseen(self, proposed: Sequence[Proposed], *, at_once: bool = False) -> Proposal:
        """The water after what is proposed, and what speaks against it."""
        test = self.test
        return dosing.foresee(
            proposed,
            volume=self.tub.volume,
            sanitizer=self.tub.sanitizer,
            reading=self._reading(test) if test else None,
            kit=self.kit,
            scale=self.tub.scale or self.dealer.scale,
            history=self._history(test[0] if test else None),
            limits=limits_for(self.dealer.locale),
            at_once=at_once,
        )

    def _reading(self, test: tuple[Entry, ReadingTaken]) -> dosing.Reading:
        entry, taken = test
        hours = max(0.0, (self.now - entry.at).total_seconds() / 3600.0)
        return dosing.Reading(values=taken.values, method=taken.method, hours_ago=hours)

    def _history(self, test: Entry | None) -> tuple[dosing.Past, ...]:
        return known_to_dosing(tuple(entry for entry in self.journal if entry != test), self.now)

    def json(self, proposed: Sequence[Proposed]) -> JsonValue:
        """What is foreseen, and on what it rests, to be kept."""
        seen = PROPOSAL.dump_python(self.foreseen(proposed), mode="json")
        test = self.test
        return {
            "seen": seen,
            "newest": self.newest,
            "test": test[0].model_dump(mode="json") if test else None,
        }


def sheet(name: str, tub: Tub, test: Entry | None, proposal: Proposal, units: str) -> Line:
    """A proposed plan on one screen: its steps, the water after it, and what speaks against it."""
    fact = test.fact if test else None
    return lines(
        lines(
            line("proposal.head", name=name, volume=Volume(tub.volume) if tub.volume else line("unknown")),
            line("case.tested", at=test.at, values=reading_line(fact))
            if test and isinstance(fact, ReadingTaken)
            else None,
            gap="\n",
        ),
        lines(*step_lines(proposal, units), gap="\n") if proposal.plan.steps else line("proposal.empty"),
        _after(proposal.plan.predicted, "fc" if tub.sanitizer == "bromine" else "br") if proposal.plan.steps else None,
        objections_line(proposal.objections),
    )


def step_lines(proposal: Proposal, units: str) -> tuple[Line, ...]:
    """The steps, numbered, each with its wait."""
    out = []
    for number, step in enumerate((it for it in proposal.plan.steps if it.action in ("add", "aerate")), 1):
        what = (
            line("case.dose", product=product_name(step.product), amount=mass(step.grams or 0.0, units))
            if step.action == "add"
            else line("proposal.air", span=Span(step.minutes or 0))
        )
        out.append(line("proposal.step", number=number, what=what, span=Span(step.wait_minutes)))
    return tuple(out)


def _after(predicted: Mapping[str, Spread], without: str) -> Line:
    values = tuple(
        line(
            "proposal.value",
            name=line("proposal.index" if key == "saturation_index" else f"reading.{key}"),
            mid=_rounded(key, predicted[key].mid),
            low=_rounded(key, predicted[key].low),
            high=_rounded(key, predicted[key].high),
        )
        for key in SHOWN
        if key in predicted and key != without
    )
    return lines(line("proposal.after"), *values, gap="\n")


def _rounded(key: str, value: float) -> float:
    rounded = round(value, 1) if key in ("ph", "saturation_index") or abs(value) < 10 else round(value)
    return rounded + 0.0


def objections_line(objections: Sequence[Objection], *, barred: bool = True) -> Line | None:
    """What speaks against it, the grave first; None where nothing does. `barred`: grave ones are not overruled."""
    if not objections:
        return None
    head = line("proposal.barred" if barred and any(it.grave for it in objections) else "proposal.against")
    return lines(head, *(objection_line(it) for it in objections), gap="\n")


def objection_line(objection: Objection) -> Line:
    """What speaks against a proposal, in one sentence."""
    numbers = said_numbers(objection.numbers)
    return line(f"objection.{objection.code}", product=product_name(objection.product), **numbers)

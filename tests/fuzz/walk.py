"""One owner who writes, taps, sends and waits at random, and what must hold after each of it."""

import random
from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import timedelta

from bot.channels.rehearsal import REHEARSAL, buttons_of
from bot.model.fact import PlanIssued, ReadingTaken
from bot.model.message import Message
from bot.schedule.journal import facts, open_plan, standing
from bot.talk.commands import FLOW_OF
from bot.talk.understand import readings
from bot.talk.words import languages
from tests.fuzz.texts import scrambled
from tests.talk.world import Actor, World

LONGEST = 4096
"""Characters of a message."""
PLAN_HOLDS = timedelta(hours=24, minutes=5)
ROUTINE_RUNS = timedelta(days=7, minutes=5)
"""How old the test may be that a dose rests on. The routine's is bounded so that nothing lost ends in range."""
SITTING = 40
"""Texts by one owner before the next one comes: a fresh house each time."""


@dataclass
class Tally:
    """What was sent and what was found."""

    texts: int = 0
    others: int = 0
    faults: list[str] = field(default_factory=list)


def fuzz(texts: int, seed: int, tally: Tally | None = None) -> Tally:
    """Send that many texts, and other things between them. Faults are gathered, not raised."""
    tally = tally or Tally()
    source, chance = scrambled(seed), random.Random(seed)
    until = tally.texts + texts
    while tally.texts < until:
        with World() as world:
            _Sitting(world, chance, source, tally, min(SITTING, until - tally.texts)).hold()
    return tally


class _Sitting:
    def __init__(self, world: World, chance: random.Random, source: Iterator[str], tally: Tally, texts: int) -> None:
        self.world, self.chance, self.source, self.tally, self.left = world, chance, source, tally, texts
        if chance.random() < 0.7:
            world.staff("Tom")
        self.owner = self._owner()
        self.old: list[str] = []
        self.doing = ""

    def _owner(self) -> Actor:
        chance = self.chance
        person = {"language": chance.choice(languages()), "units": chance.choice(("metric", "us"))}
        if chance.random() < 0.05:
            self.world.stranger("Ada")
            return self.world.actors["Ada"]
        return self.world.owner(
            "Ada",
            volume=chance.choice((1300.0, 950.0, None)),
            sanitizer=chance.choice(("chlorine", "chlorine", "bromine", None)),
            running=chance.random() < 0.8,
            person=person,
        )

    def hold(self) -> None:
        """Write every text of this sitting; a fault ends it, because what follows would be told of twice."""
        if self.chance.random() < 0.8:
            self.tally.others += 1
            self.owner.says("/" + self.chance.choice(sorted(FLOW_OF)))
        while self.left > 0:
            try:
                self._one()
            except Exception as fault:
                self.tally.faults.append(f"{type(fault).__name__}: {fault} after {self.doing!r}"[:600])
                return

    def _one(self) -> None:
        chance, ada = self.chance, self.owner
        labels = ada.buttons if ada.messages else []
        self.old += [button.data for button in buttons_of(ada.last)] if ada.messages else []
        match chance.randint(0, 13):
            case 0 | 1 | 2 if labels:
                self.doing = chance.choice(labels)
                self._other(lambda: ada.taps(self.doing))
            case 3 if self.old:
                self.doing = chance.choice(
                    (*self.old[-40:], "1a.0.0.0", "", "2z.", "1a.١.2.3", "1r.t.test.done", "1k..take")
                )
                self._other(lambda: ada.taps_data(self.doing))
            case 4 if chance.random() < 0.6:
                self.doing = chance.choice(("photo", "voice", "sticker", "location", "document"))
                caption = next(self.source)[:1024] if chance.random() < 0.5 else ""
                self._other(lambda: ada.sends(self.doing, caption))  # type: ignore[arg-type]
            case 5 if chance.random() < 0.5:
                self.world.passes(minutes=chance.choice((5, 31, 31, 200, 200, 1440, 1440, 1440, 1440, 15000)))
                self.tally.others += 1
            case 6 if chance.random() < 0.3:
                self._text(next(self.source), edited=chance.random() < 0.5, forwarded=chance.random() < 0.5)
            case 7 if labels:
                self._text(chance.choice(labels))
            case 8 if chance.random() < 0.1:
                self.world.restart()
            case _:
                self._text(next(self.source))

    def _other(self, act: object) -> None:
        assert callable(act)
        act()
        self.tally.others += 1
        self._check(self.owner.new)

    def _text(self, text: str, *, edited: bool = False, forwarded: bool = False) -> None:
        self.doing = text
        before = self.owner.last if self.owner.messages else None
        asked = before is not None and (before.asks is not None or before.wait_minutes is not None)
        self.owner.says(text, edited=edited, forwarded=forwarded)
        self.left -= 1
        self.tally.texts += 1
        new = self.owner.new
        self._check(new)
        if not asked and not readings(text).values and any(message.dose for message in new):
            assert not self._planned_just_now(), "a dose from a text without a reading"

    def _planned_just_now(self) -> bool:
        update = f"{REHEARSAL}:{self.world.update}:"
        return any(
            isinstance(entry.fact, PlanIssued) and entry.key.startswith(update)
            for entry in self.world.journal(self.owner)
        )

    def _check(self, new: list[Message]) -> None:
        assert new, "silence"
        for message in new:
            assert 0 < len(message.text) <= LONGEST, f"{len(message.text)} characters"
            assert message.text.strip(), "a blank message"
        if any(message.dose for message in new):
            self._dose_is_of_the_open_plan(new)

    def _dose_is_of_the_open_plan(self, new: list[Message]) -> None:
        journal = standing(self.world.journal(self.owner))
        found = open_plan(journal)
        assert found, "a dose without a plan"
        steps = {(step.product, step.grams) for step in found[1].plan.steps}
        doses = [(message.dose.product, message.dose.grams) for message in new if message.dose]
        assert set(doses) <= steps, "a dose that is no step of the open plan"
        tested = [entry.at for entry, fact in facts(journal, ReadingTaken) if not fact.source]
        assert tested, "a dose without a test"
        age = self.world.clock.now() - max(tested)
        is_routine = all(step.key == "routine" for step in found[1].plan.steps)
        assert age <= (ROUTINE_RUNS if is_routine else PLAN_HOLDS), "a dose on an old test"
        assert facts(journal, PlanIssued), "a dose without an issued plan"

"""An owner who is led by the bot itself: reads its messages, answers its questions, does what it says as owners do."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta

import numpy as np

from bot.model.fact import Filled, StartedUp
from bot.model.message import Button, Dose, Message
from tests.season.books import Book
from tests.season.chat import NOON, Chat, later, reminders
from tests.season.draw import Away, Case, Soak
from tests.season.life import TEST_MINUTES, Life, Manner

BALANCE = {"sodium_bicarbonate", "sodium_carbonate", "sodium_bisulfate"}
MOST_TURNS = 60
"""Answers that an owner has patience for in an evening."""
PATIENCE_HOURS = 5.0
TEST_KEYS = ("fc", "ph", "ta", "ch", "cya")
CARES = ("rinse", "soak", "cartridge", "replace", "purge", "cover", "winter")
SHOCK_GRAMS_PER_LITRE = 0.03
SAME_SITTING = 4.0
"""Hours in which nobody tests twice because a reminder says so."""
SAYS_LATER = 0.5
"""Share of those who put a test off that say so."""
LITTLE = 0.02
"""Hours between an answer and the next look at the phone."""


class Forgot(Exception):
    """The owner leaves what is open for another day."""


class Led(Life):
    """One tub's season in a chat with the real engine."""

    def __init__(self, case: Case, manner: Manner) -> None:
        super().__init__(case, manner)
        self.chat = Chat(
            case,
            sanitizer="chlorine",
            water_source=case.water,
            soaks_per_week=case.soaks_per_week,
            bathers=2,
            method="meter" if manner.meter else "strip",
        )
        self.strip: dict[str, float] = {}
        self.soak: Soak | None = None
        self.counted = 0
        self.back = ""
        self.tasks: dict[str, Button] = {}
        self.untold = 0
        self.next_dose = np.inf
        self.better_value = ""
        self.opened = False

    def run(self) -> Book:
        try:
            return super().run()
        finally:
            self.chat.close()

    # -- what happens to them

    def begin(self) -> None:
        self.chat.owner.did(Filled(), at=NOON)
        self.chat.owner.did(StartedUp(), at=NOON + timedelta(minutes=1))
        self.chat.until(0.5)
        with suppress(Forgot):
            self._says("test")

    def evening(self) -> None:
        self._looks()
        if self.opened:
            self.opened = False
            with suppress(Forgot):
                self._says("/new_strips")
        self._reads_on()
        with suppress(Forgot):
            self._talks()
            self._does()
            self._keeps_to_what_was_said()
        self._counts()

    def _reads_on(self) -> None:
        """What came since: what there is to do, and the day of the next dose as it was named last."""
        for message in self.chat.unread():
            self.tasks |= reminders(message)
            self.next_dose = self.chat.day_of("next.dose", message, self.tub.at) or self.next_dose

    def _keeps_to_what_was_said(self) -> None:
        """The dose of the day that was named, in the amount that today needs."""
        self._reads_on()
        if self.tub.at >= self.next_dose:
            self.next_dose = np.inf
            self._says("/dose")
            if (offered := self.chat.offered("test")) and not self.is_late():
                self._taps(offered)

    def _does(self) -> None:
        """What reminders ask for; what is put off stays to be done."""
        if "refill" in self.tasks:
            self.refills()
            self._looks()
            self._done("refill")
        dose = self.tasks.pop("dose", None)
        if self.book.tests and self.tub.at - self.book.tests[-1] < SAME_SITTING:
            self.tasks.pop("test", None)
        elif "test" in self.tasks and not self._tests_or_puts_it_off() and dose is not None:
            self._taps(dose)
        for care in CARES:
            if care in self.tasks:
                self._done(care)
        if "shock" in self.tasks and self.pours("monopersulfate", self._shock, balance=False):
            self._done("shock")

    def _tests_or_puts_it_off(self) -> bool:
        """Whether they test; else some say so, and of some no more is heard until they are reminded."""
        if not self.is_late():
            self._done("test")
            return True
        if self.whims.random() < SAYS_LATER:
            self._taps(later(self.tasks.pop("test")))
        else:
            del self.tasks["test"]
        return False

    def _done(self, what: str) -> None:
        self._taps(self.tasks.pop(what))

    @property
    def _shock(self) -> float:
        return round(SHOCK_GRAMS_PER_LITRE * self.case.stated)

    def _soak(self, soak: Soak) -> None:
        super()._soak(soak)
        if not soak.told:
            self.untold += soak.bathers

    def bathed(self, soak: Soak) -> None:
        self._looks()
        self.soak = soak
        with suppress(Forgot):
            self._says(f"we were in the tub, {soak.bathers} people, {soak.minutes:.0f} minutes")
        self.soak = None

    def leaves(self, away: Away) -> None:
        self._looks()
        self.back = (NOON + timedelta(hours=away.end)).date().isoformat()
        with suppress(Forgot):
            self._says("pause")
        self.back = ""

    def better(self, ph: float) -> None:
        self._looks()
        self.better_value = f"{ph:g}"
        with suppress(Forgot):
            self._says("/better_ph")
        self.better_value = ""

    def new_bottle(self) -> None:
        self.opened = True

    # -- how they talk

    def _looks(self) -> None:
        self.chat.until(self.tub.at)

    def _counts(self) -> None:
        """What came by itself since they last looked."""
        new = self.chat.unprompted(self.counted)
        self.book.unprompted += [self.tub.at] * new
        self.counted = len(self.chat.messages)

    def _says(self, text: str) -> None:
        self.chat.owner.says(text)
        self._talks()

    def _taps(self, button: Button) -> None:
        self.chat.owner.taps_data(button.data)
        self._talks()

    def _answers(self, asks: str, value: str) -> None:
        self.chat.owner.answers(asks, value)

    def _talks(self) -> None:
        """Answer what is asked until nothing more is."""
        began, self.strip = self.tub.at, {}
        waits: float | None = None
        for _ in range(MOST_TURNS):
            question = self.chat.question
            if question is None or question.asks is None:
                if waits is None or self.tub.at + waits / 60.0 - began > PATIENCE_HOURS:
                    return
                self.waits(waits + 1.0)
                self._looks()
                waits = None
                continue
            asks = question.asks
            if asks.startswith("did."):
                waits = self._step(asks, question)
            else:
                self._answers(asks, self._reply(asks, question))

    def _step(self, asks: str, question: Message) -> float | None:
        """Do a step that is named; its wait in minutes."""
        key, dose = asks.removeprefix("did."), question.dose
        if dose is not None:
            self._pours(dose)
        elif "aerate" in key:
            self.airs(_minutes(question.text))
        elif key.startswith("drain"):
            self.refills()
        self._looks()
        self._answers(asks, "done")
        self.strip = {}
        return float(question.wait_minutes) if question.wait_minutes else None

    def _pours(self, dose: Dose) -> None:
        if not self.pours(dose.product, dose.grams, balance=bool(BALANCE & set(dose.substances))):
            raise Forgot

    def _reply(self, asks: str, question: Message) -> str:
        key = asks.rpartition(".")[2]
        if asks == "have":
            if self.better_value:
                return "now"
            self.asks_for_better()
            return "later"
        if asks == "better_ph":
            return self.better_value
        if key in TEST_KEYS:
            return self._reads(key)
        if asks == "soaks":
            return self._who_bathed()
        if asks.endswith(".none"):
            return "ok"
        if asks == "grams":
            return f"{self._shock:.0f} g"
        if asks == "until":
            return self.back or self._tomorrow
        if asks in _REPLIES:
            return _REPLIES[asks]
        labels = [button.label for row in question.buttons for button in row]
        self.book.notes.append((self.tub.at, f"{asks}: {question.text!r} {labels}"))
        raise Forgot

    def _who_bathed(self) -> str:
        """What nobody told of since the last test."""
        untold, self.untold = self.untold, 0
        return next(answer for answer in ("0", "2", "4", "6") if untold <= int(answer) or answer == "6")

    @property
    def _tomorrow(self) -> str:
        return (NOON + timedelta(hours=self.tub.at + 24.0)).date().isoformat()

    def _reads(self, key: str) -> str:
        if not self.strip:
            self.strip = self.reads(TEST_KEYS)
            self.waits(TEST_MINUTES)
            self._looks()
        return f"{self.strip[key]:g}"


_REPLIES = {
    "way": "meter",
    "again": "now",
    "retest": "later",
    "check": "keep",
    "cartridge": "none",
    "metals": "no",
    "supply": "no",
    "start_up": "yes",
    "log": "yes",
    "begin": "done",
    "product": "monopersulfate",
}


def _minutes(text: str) -> float:
    """The longest time in minutes that a text names."""
    words = text.replace("\n", " ").split()
    found = [
        float(words[at]) for at in range(len(words) - 1) if words[at + 1].startswith("minute") and words[at].isdigit()
    ]
    return max(found, default=30.0)


def play(case: Case, manner: Manner | None = None) -> Book:
    """One tub's season, led by the bot."""
    return Led(case, manner or Manner()).run()

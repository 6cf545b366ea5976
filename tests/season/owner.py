"""An owner who is led by the bot itself: reads its messages, answers its questions, does what it says as owners do."""

from __future__ import annotations

from contextlib import suppress
from datetime import timedelta

from bot.model.fact import Filled, StartedUp
from bot.model.message import Button, Dose, Message
from tests.season.books import Book
from tests.season.chat import NOON, Chat, reminders
from tests.season.draw import Away, Case, Soak
from tests.season.life import TEST_MINUTES, Life, Manner

BALANCE = {"sodium_bicarbonate", "sodium_carbonate", "sodium_bisulfate"}
CHLORINES = {"sodium_hypochlorite", "sodium_dichlor"}
SAME_EVENING = 6.0
"""Hours by which an evening may come early."""
MOST_TURNS = 60
"""Answers that an owner has patience for in an evening."""
PATIENCE_HOURS = 5.0
TEST_KEYS = ("fc", "ph", "ta", "ch", "cya")
CARES = ("rinse", "soak", "cartridge")
SHOCK_GRAMS_PER_LITRE = 0.03
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
        self.dosed = 0.0
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
        tasks: dict[str, Button] = {}
        for message in self.chat.unread():
            tasks |= reminders(message)
        with suppress(Forgot):
            self._talks()
            self._does(tasks)
            self._keeps_to_the_card()
        self._counts()

    def _keeps_to_the_card(self) -> None:
        """So many days without an addition: what the card says, without being asked."""
        cards = self.chat.world.facts("card")
        if not cards or self.tub.at - self.dosed < 24.0 * cards[-1].idle_days - SAME_EVENING:
            return
        card = cards[-1]
        if not self.pours(card.product, card.idle, balance=False):
            raise Forgot
        self.dosed = self.tub.at
        self._says(f"I added {card.idle:.0f} g {card.product}")

    def _does(self, tasks: dict[str, Button]) -> None:
        if "refill" in tasks:
            self.refills()
            self._looks()
            self._taps(tasks["refill"])
        elif "test" in tasks and not self.is_late():
            self._taps(tasks["test"])
        for care in CARES:
            if care in tasks:
                self._taps(tasks[care])
        if "shock" in tasks:
            grams = SHOCK_GRAMS_PER_LITRE * self.case.stated
            if self.pours("monopersulfate", grams, balance=False):
                self._taps(tasks["shock"])

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
        if CHLORINES & set(dose.substances):
            self.dosed = self.tub.at

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
        if asks in _REPLIES:
            return _REPLIES[asks]
        if asks == "until" and self.back:
            return self.back
        labels = [button.label for row in question.buttons for button in row]
        self.book.notes.append((self.tub.at, f"{asks}: {question.text!r} {labels}"))
        raise Forgot

    def _reads(self, key: str) -> str:
        if not self.strip:
            self.strip = self.reads(TEST_KEYS)
            self.waits(TEST_MINUTES)
            self._looks()
        return f"{self.strip[key]:g}"


_REPLIES = {
    "way": "meter",
    "soaks": "skip",
    "log": "yes",
    "begin": "done",
    "product": "monopersulfate",
    "grams": "unknown",
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

"""Whether plans did what they predicted, and whether tests made sense, as a journal tells."""

from datetime import UTC, datetime, timedelta

import pytest

from bot.model.fact import Added, Entry, Plain, PlanClosed, PlanIssued, ReadingTaken
from bot.schedule.plans import doubted_tests, failed_plans
from dosing import DEFAULT_SCALE, Plan, Reading, Said, plan

START = datetime(2027, 3, 1, 9, 0, tzinfo=UTC)


class Book:
    """A journal that is being written."""

    def __init__(self) -> None:
        self.entries: list[Entry] = []
        self.now = START

    def write(self, fact: Plain, minutes: float = 0) -> str:
        self.now += timedelta(minutes=minutes)
        key = str(len(self.entries))
        self.entries.append(Entry(key=key, dealer="d", tub="t", person="p", at=self.now, via="x", fact=fact))
        return key

    def round(self, before: str, after: str, *, share: float = 1.0, hours: float = 1.0) -> Plan:
        """A test, its plan, all of its doses, and a test after them."""
        made = plan(volume=1300.0, sanitizer="chlorine", reading=reading(before))
        key = self.write(taken(before), 60)
        self.write(PlanIssued(plan_key=key, plan=made))
        for step in made.steps:
            if step.action == "add" and step.grams:
                self.write(Added(product=step.product, grams=step.grams * share, plan_key=key, step=step.key), 10)
        self.write(PlanClosed(plan_key=key, how="done"))
        self.write(taken(after), hours * 60)
        return made


def taken(text: str) -> ReadingTaken:
    return ReadingTaken(values=reading(text).values)


def reading(text: str) -> Reading:
    words = iter(text.split())
    return Reading({key: Said.parse(value) for key, value in zip(words, words, strict=True)})


@pytest.fixture
def book() -> Book:
    return Book()


LOW = "fc 0.5 ph 7.4 ta 80"
GOOD = "fc 5 ph 7.4 ta 80"


def test_plans_that_do_nothing_are_counted_from_the_newest_back(book: Book) -> None:
    book.round(LOW, GOOD)
    assert failed_plans(book.entries, DEFAULT_SCALE) == 0
    book.round(LOW, LOW)
    assert failed_plans(book.entries, DEFAULT_SCALE) == 1
    book.round(LOW, LOW)
    assert failed_plans(book.entries, DEFAULT_SCALE) == 2
    book.round(LOW, GOOD)
    assert failed_plans(book.entries, DEFAULT_SCALE) == 0


def test_one_that_overshot_or_hit_is_none(book: Book) -> None:
    book.round(LOW, "fc 10 ph 7.4 ta 80")
    assert failed_plans(book.entries, DEFAULT_SCALE) == 0


def test_what_went_in_only_in_part_or_was_tested_late_tells_nothing(book: Book) -> None:
    book.round(LOW, LOW, share=0.5)
    book.round(LOW, LOW, hours=9)
    assert failed_plans(book.entries, DEFAULT_SCALE) == 0


def test_tests_that_cannot_be_believed_are_counted_while_they_follow_each_other(book: Book) -> None:
    odd = plan(volume=1300.0, sanitizer="chlorine", reading=reading("fc 5 tc 1 ph 7.4 ta 80"))
    assert odd.status == "ask"
    assert odd.doubts
    fine = plan(volume=1300.0, sanitizer="chlorine", reading=reading(GOOD))
    book.write(PlanIssued(plan_key="1", plan=odd))
    assert doubted_tests(book.entries) == 1
    book.write(PlanIssued(plan_key="2", plan=odd), 60)
    assert doubted_tests(book.entries) == 2
    book.write(PlanIssued(plan_key="3", plan=fine), 60)
    assert doubted_tests(book.entries) == 0
    book.write(PlanIssued(plan_key="4", plan=odd), 60)
    book.write(PlanIssued(plan_key="5", plan=odd), 60 * 24 * 5)
    assert doubted_tests(book.entries) == 1

"""How a house does: water in range, tests done, how soon newcomers test, answers to rounds, cases."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from statistics import median

from bot.desk.leaving import Value, csv_of
from bot.desk.rounds.whom import out_of_range
from bot.model.dealer import Dealer
from bot.model.enclosure import FiguresDrawing, Share
from bot.model.fact import Entry, ReadingTaken
from bot.model.round import RoundView
from bot.model.sight import Sight
from bot.schedule import cases
from bot.schedule.care import water_since
from bot.schedule.journal import last, standing
from bot.talk.orders import figures_line
from bot.talk.words import Line, Words, line, lines

WEEK = timedelta(days=7)
MONTH = timedelta(days=30)
NEWCOMERS = timedelta(days=180)
"""How long ago owners came in whose first test is looked at."""


@dataclass(frozen=True, slots=True)
class Figures:
    """Counted by tub, each once however many people are on it."""

    tested: int
    """Tubs tested within a week."""
    in_range: int
    """Those of them whose newest test is in range."""
    due: int
    """Tubs whose owners are there and whose water is older than the days between two tests."""
    done: int
    """Those of them tested within these days."""
    first_test: float | None
    """Median days from coming in to the first test, of those who came in within half a year."""
    reached: int
    """Owners whom rounds of the last month reached."""
    answered: int
    cases: cases.Figures
    """Opened and closed in the last month."""


class Tally:
    """Counts sights as they come, a page at a time."""

    def __init__(self, dealer: Dealer, now: datetime) -> None:
        self._dealer, self._now = dealer, now
        self._seen: set[str] = set()
        self._tested = self._in_range = self._due = self._done = 0
        self._first: list[float] = []

    def add(self, sights: Iterable[Sight]) -> None:
        """Count these."""
        for sight in sights:
            there = sight.person.address is not None and sight.person.standing == "active"
            if sight.tub is None or sight.tub.key in self._seen or not there:
                continue
            self._seen.add(sight.tub.key)
            self._newcomer(sight)
            self._water(sight)

    def _newcomer(self, sight: Sight) -> None:
        joined = sight.person.agreed_at
        if joined and sight.first_test and sight.first_test >= joined >= self._now - NEWCOMERS:
            self._first.append((sight.first_test - joined) / timedelta(days=1))

    def _water(self, sight: Sight) -> None:
        assert sight.tub
        journal = standing(sight.journal)
        test = last(journal, ReadingTaken, lambda fact: not fact.source)
        since = water_since(journal)
        if test and self._now - test[0].at <= WEEK:
            self._tested += 1
            self._in_range += not out_of_range(test[1], sight.tub, self._dealer)
        days = timedelta(days=self._dealer.intervals.test)
        away = sight.person.paused_until is not None and sight.person.paused_until > self._now
        if since and self._now - since >= days and not away:
            self._due += 1
            self._done += test is not None and self._now - test[0].at <= days

    def figures(self, rounds: Sequence[RoundView], entries: Sequence[Entry]) -> Figures:
        """The figures, with the newest rounds and what is written of cases."""
        recent = [view for view in rounds if view.round.started_at and self._now - view.round.started_at <= MONTH]
        return Figures(
            tested=self._tested,
            in_range=self._in_range,
            due=self._due,
            done=self._done,
            first_test=median(self._first) if self._first else None,
            reached=sum(view.counts.get("delivered", 0) for view in recent),
            answered=sum(sum(view.answers.values()) for view in recent),
            cases=cases.figures(entries, self._now, self._now - MONTH),
        )


def told(made: Figures) -> Line:
    """The figures in a few lines."""
    return lines(
        line("house.in_range", part=made.in_range, whole=made.tested),
        line("house.done", part=made.done, whole=made.due),
        line("house.first_test", days=round(made.first_test, 1)) if made.first_test is not None else None,
        line("house.answered", part=made.answered, whole=made.reached),
        figures_line(made.cases),
        gap="\n",
    )


def drawing(made: Figures, words: Words) -> FiguresDrawing:
    """The shares as a picture."""
    shares = (
        ("in_range", made.in_range, made.tested),
        ("done", made.done, made.due),
        ("answered", made.answered, made.reached),
    )
    return FiguresDrawing(
        title=words.text(line("house.title")),
        shares=tuple(
            Share(name=words.text(line(f"house.share.{name}")), part=part, whole=whole) for name, part, whole in shares
        ),
        notes=(
            words.text(
                line("figures.month", opened=made.cases.opened, closed=made.cases.closed, helped=made.cases.helped)
            ),
            *(
                [words.text(line("house.first_test", days=round(made.first_test, 1)))]
                if made.first_test is not None
                else []
            ),
        ),
    )


def figures_csv(made: Figures, words: Words) -> bytes:
    """A row for each figure: what, how many, of how many."""
    rows: list[tuple[Value, ...]] = [
        (words.text(line("house.share.in_range")), made.in_range, made.tested),
        (words.text(line("house.share.done")), made.done, made.due),
        (words.text(line("house.share.answered")), made.answered, made.reached),
        (words.text(line("house.column.first_test")), made.first_test, None),
        (words.text(line("house.column.opened")), made.cases.opened, None),
        (words.text(line("house.column.closed")), made.cases.closed, None),
    ]
    titles = [words.text(line(f"house.column.{name}")) for name in ("figure", "number", "of")]
    return csv_of(titles, rows)

"""Floods and guesses, on the real engine: what strangers do costs little, and no owner waits for it or loses a word."""

from collections import Counter
from collections.abc import Iterator
from datetime import datetime, timedelta

import pytest

from bot.model.event import Arrival, Began, Event, Tapped, Wrote
from bot.model.known import Known, Outcome
from bot.model.person import digest_of
from bot.run.crowd import MOST_REMEMBERED, Crowd
from bot.store.sql.inbox import MOST_KEPT, MOST_TEXT, MOST_WAITING
from bot.talk.door import GUESSES
from tests.store.samples import NOON, wrote
from tests.talk.crew import SHOCK
from tests.talk.world import World

EACH, STRANGERS = 30, 60


class Square(World):
    """A house in which people are answered at a pace, and every step is counted."""

    def __init__(self) -> None:
        self.steps: list[str] = []
        """Whose arrivals were handled, in order."""
        self.texts: list[str] = []
        super().__init__()
        self.staff("Tom")
        self.owner("Ada")

    def _crowd(self) -> Crowd:
        return Crowd(EACH, STRANGERS)

    def _step(self, known: Known, arrival: Arrival, now: datetime) -> Outcome:
        self.steps.append(arrival.address.chat)
        self.texts.extend([arrival.event.text] if isinstance(arrival.event, Wrote) else [])
        return super()._step(known, arrival, now)

    def brings(self, name: str, *events: Event) -> None:
        """So much comes from one chat, and nothing of it is handled yet."""
        for event in events:
            self.do(self.house.engine.receive(self.arrival(name, event)))

    def goes_on(self, *, minutes: int = 0) -> None:
        """Everything is done whose turn it is, second by second."""
        for _ in range(minutes * 60 + 1):
            self.do(self.house.settle_down(self.clock.now()))
            self.passes(seconds=1 if minutes else 0)

    @property
    def waiting(self) -> int:
        """Arrivals that wait."""
        return self.do(self.store.stock(self.clock.now())).inbox


@pytest.fixture
def square() -> Iterator[Square]:
    with Square() as square:
        yield square


def texts(count: int, text: str = "buy now {}") -> list[Wrote]:
    return [Wrote(text=text.format(number)) for number in range(count)]


def test_a_strangers_flood_makes_few_rows_and_few_steps_and_an_owner_is_answered_at_once(square: Square) -> None:
    square.brings("Zed", *texts(600))
    assert MOST_WAITING <= square.waiting <= MOST_WAITING + 2
    square.brings("Ada", Wrote(text="history"))
    square.goes_on()
    assert Counter(square.steps) == {"Zed": EACH, "Ada": 1}
    assert len(square.phones["Ada"].messages) == 1


def test_what_was_written_too_fast_is_answered_in_time_the_last_of_it_together(square: Square) -> None:
    square.brings("Ada", *texts(MOST_WAITING + 20, "note number {}"))
    square.goes_on(minutes=1)
    assert square.waiting == 0
    assert square.texts[0] == "note number 0"
    assert square.texts[-1].splitlines() == [f"note number {number}" for number in range(MOST_WAITING - 1, 70)]
    assert len(square.steps) == len(square.phones["Ada"].messages) == MOST_WAITING


def test_a_danger_in_an_owners_flood_is_found(square: Square) -> None:
    square.brings("Ada", *texts(MOST_WAITING + 10, "hm {}"), Wrote(text=SHOCK), *texts(10, "hello {}"))
    square.goes_on(minutes=1)
    assert [fact.klass for fact in square.facts("case")] == ["danger"]
    assert any("DANGER" in message.text for message in square.phones["Tom"].messages)


def test_a_danger_early_in_a_long_flood_is_not_cut_off(square: Square) -> None:
    square.brings("Ada", *texts(MOST_WAITING + 1, "hm {}"), Wrote(text=SHOCK), *texts(4, "x" * 2000))
    square.goes_on(minutes=1)
    assert [fact.klass for fact in square.facts("case")] == ["danger"]


def test_an_endless_text_stays_as_long_as_a_message_may_be(square: Square) -> None:
    square.brings("Zed", *texts(MOST_WAITING + 100, "x" * 4000))
    square.goes_on(minutes=1)
    assert max(map(len, square.texts)) <= MOST_TEXT


def test_taps_without_end_are_kept_up_to_a_number_and_cost_no_more_than_texts(square: Square) -> None:
    square.brings("Zed", *[Tapped(data="1a.0.0.0")] * (MOST_KEPT + 300))
    assert square.waiting == MOST_KEPT
    square.goes_on()
    assert square.steps == ["Zed"] * EACH


def test_many_strangers_at_once_have_to_wait_for_each_other_and_owners_for_none_of_them(square: Square) -> None:
    crowd = [f"Z{number}" for number in range(200)]
    for stranger in crowd:
        square.brings(stranger, Wrote(text="hello"))
    square.brings("Ada", Wrote(text="history"))
    square.goes_on()
    assert square.steps == [*crowd[:STRANGERS], "Ada"]
    square.goes_on(minutes=3)
    assert square.waiting == 0
    assert Counter(square.steps) == dict.fromkeys(["Ada", *crowd], 1)


def test_waiting_for_a_turn_counts_as_no_attempt(square: Square) -> None:
    square.brings("Ada", *texts(EACH + 1))
    square.goes_on()
    assert square.do(square.store.take(square.clock.now())) is None
    taken = square.do(square.store.take(square.clock.now() + timedelta(seconds=2)))
    assert taken
    assert (taken.attempts, taken.claims) == (0, 1)


def test_what_the_house_brings_about_itself_has_no_pace(square: Square) -> None:
    ada = square.actors["Ada"].says("test").taps("Nobody")
    for pad, value in {"fc": "1", "ph": "8.4", "ta": "180", "ch": "150"}.items():
        ada.answers(pad, value)
    ada.taps("Done")
    square.brings("Ada", *[Tapped(data="1a.0.0.0")] * EACH)
    square.goes_on()
    before = len(ada.messages)
    square.passes(minutes=ada.last.wait_minutes or 60)
    assert len(ada.messages) > before


def test_who_guesses_at_invites_has_to_wait_even_with_a_good_one(square: Square) -> None:
    eve, zoe = square.stranger("Eve", invite="the-right-one"), square.stranger("Zoe", invite="hers")
    for number in range(GUESSES):
        assert "I don't know" in eve.opens(f"guess-{number}").text
    square.restart()
    assert "wait an hour" in eve.opens("the-right-one").text
    assert eve.known.person is None
    zoe.opens("hers")
    assert zoe.known.person is not None
    square.passes(minutes=61)
    eve.opens("the-right-one")
    assert eve.known.person is not None


def test_guesses_by_many_are_slowed_down_for_the_whole_house(square: Square) -> None:
    for number in range(3 * STRANGERS):
        square.brings(f"Z{number}", Began(invite=digest_of(f"guess-{number}")))
    square.goes_on(minutes=1)
    assert STRANGERS <= len(square.steps) <= 2 * STRANGERS + 1


def test_what_is_remembered_of_people_is_bounded() -> None:
    crowd = Crowd(EACH, STRANGERS)
    for number in range(2 * MOST_REMEMBERED):
        stranger = wrote(str(number), at=str(number))
        crowd.turn(stranger, NOON)
        crowd.turn_of_stranger(stranger, NOON)
    assert len(crowd._spent) <= MOST_REMEMBERED
    assert len(crowd._turns) <= MOST_REMEMBERED


def test_nobody_is_kept_waiting_longer_than_their_own_pace_asks_for() -> None:
    crowd, now, waited = Crowd(EACH, STRANGERS), NOON, 0
    for number in range(200):
        turn = crowd.turn(wrote(str(number)), now)
        if turn > now:
            waited += 1
            assert crowd.turn(wrote(str(number)), turn) == turn
            now = turn
    assert waited == 200 - EACH
    assert (now - NOON).total_seconds() == pytest.approx(60 * (200 - EACH) / EACH)

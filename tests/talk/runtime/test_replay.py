"""A flow is run again from the top at every step: what it says, records and keeps must still happen once."""

from collections.abc import Iterator
from datetime import UTC, datetime, timedelta

import pytest

from bot.model.conversation import Conversation
from bot.model.dealer import Dealer
from bot.model.event import Arrival, Wrote
from bot.model.fact import Corrected, Filled, Noted, Told
from bot.model.known import Known
from bot.model.person import Address, Person
from bot.model.tub import Tub
from bot.talk import stack
from bot.talk.draft import Draft
from bot.talk.flow import FLOWS, Ask, Change, Flow, Keep, Next, Option, Record, Say, Start, Wait, flow
from bot.talk.turn import KeptFailed
from bot.talk.words import verbatim

NOON = datetime(2027, 3, 1, 12, tzinfo=UTC)
DEALER = Dealer(key="d", name="Harbour Tubs", zone="Europe/Paris")
ADA = Person(key="p1", dealer="d", name="Ada", address=Address(channel="test", chat="1"))
TUB = Tub(key="t1", dealer="d", volume=1300)


@pytest.fixture(autouse=True)
def _only_test_flows() -> Iterator[None]:
    before = dict(FLOWS)
    yield
    FLOWS.clear()
    FLOWS.update(before)


class Chat:
    """One chat whose drafts are applied one after the other, as a store would."""

    def __init__(self) -> None:
        self.known = Known(dealer=DEALER, address=ADA.address or Address(channel="", chat=""), person=ADA, tub=TUB)
        self.updates = 0
        self.now = NOON

    def draft(self) -> Draft:
        self.updates += 1
        arrival = Arrival(
            dealer="d", address=self.known.address, update=str(self.updates), at=self.now, event=Wrote(text="")
        )
        return Draft(self.known, arrival, self.now)

    def settle(self, draft: Draft) -> list[str]:
        outcome = draft.outcome()
        dues = {due.key: due for due in self.known.dues} | {due.key: due for due in outcome.set_dues}
        self.known = self.known.model_copy(
            update={
                "journal": (*self.known.journal, *outcome.entries),
                "conversation": Conversation.model_validate_json(draft.conversation.model_dump_json()),
                "dues": tuple(due for key, due in dues.items() if key not in outcome.cancel_dues),
                "tub": draft.tub,
                "person": draft.person,
            }
        )
        return [message.text for message in outcome.messages]

    def begin(self, name: str) -> list[str]:
        draft = self.draft()
        stack.begin(draft, name)
        return self.settle(draft)

    def feed(self, key: str, value: object, **also: object) -> list[str]:
        draft = self.draft()
        stack.feed(draft, key, value, also)  # type: ignore[arg-type]
        return self.settle(draft)

    def resume(self) -> list[str]:
        draft = self.draft()
        stack.resume(draft)
        return self.settle(draft)

    def back(self) -> list[str]:
        draft = self.draft()
        stack.back(draft)
        return self.settle(draft)

    def time_is_up(self) -> list[str]:
        opened = self.known.conversation.flows[-1]
        due = next(due for due in self.known.dues if due.key == opened.waits_for)
        self.now = due.at
        draft = self.draft()
        stack.end_wait(draft, opened, due.what)
        return self.settle(draft)


def _walk(start: Start) -> Flow:
    yield Say(verbatim("welcome"))
    name = yield Ask("name", verbatim("name?"))
    yield Say(verbatim(f"hello {name}"))
    stamp = yield Keep("stamp", lambda live: live.now.isoformat())
    yield Record("note", Noted(text=f"{name} at {stamp}"))
    yield Ask("colour", verbatim("colour?"), (Option("red", verbatim("Red")),))
    yield Wait("dry", 30, verbatim("let it dry"))
    yield Say(verbatim("dry now"))
    yield Ask("end", verbatim("end?"))
    return None


def test_what_was_said_is_not_said_again_when_the_question_is_asked_again() -> None:
    flow("walk")(_walk)
    chat = Chat()
    assert chat.begin("walk") == ["welcome\n\nname?"]
    assert chat.resume() == ["name?"]
    assert chat.feed("name", "Ada") == ["hello Ada\n\ncolour?"]
    assert chat.resume() == ["colour?"]


def test_a_fact_is_recorded_once_and_a_kept_value_stays_as_it_was() -> None:
    flow("walk")(_walk)
    chat = Chat()
    chat.begin("walk")
    chat.feed("name", "Ada")
    chat.now += timedelta(hours=3)
    chat.feed("colour", "red")
    chat.time_is_up()
    notes = [entry.fact for entry in chat.known.journal if isinstance(entry.fact, Noted)]
    assert notes == [Noted(text=f"Ada at {NOON.isoformat()}")]


def test_a_wait_sets_one_timer_and_goes_on_when_it_falls() -> None:
    flow("walk")(_walk)
    chat = Chat()
    chat.begin("walk")
    chat.feed("name", "Ada")
    assert chat.feed("colour", "red") == ["let it dry"]
    assert [due.at for due in chat.known.dues] == [NOON + timedelta(minutes=30)]
    chat.now += timedelta(minutes=10)
    assert chat.resume() == ["20 minutes to go, then I'll write to you."]
    assert len(chat.known.dues) == 1
    assert chat.time_is_up() == ["dry now\n\nend?"]
    assert chat.known.dues == ()


def test_back_forgets_the_newest_answer_and_takes_back_what_it_recorded() -> None:
    flow("walk")(_walk)
    chat = Chat()
    chat.begin("walk")
    chat.feed("name", "Ada")
    assert chat.back() == ["name?"]
    chat.feed("name", "Eve")
    first, second, third = chat.known.journal
    assert second.fact == Corrected(of=first.key)
    assert third.fact == Noted(text=f"Eve at {NOON.isoformat()}")


def test_back_does_not_undo_what_was_poured() -> None:
    def pour(start: Start) -> Flow:
        yield Ask("poured", verbatim("poured?"), fixed=True)
        yield Ask("after", verbatim("after?"))
        return None

    flow("pour")(pour)
    chat = Chat()
    chat.begin("pour")
    chat.feed("poured", "yes")
    said = chat.back()
    assert "stays in the record" in said[0]
    assert said[0].endswith("after?")


def test_answers_that_come_together_are_asked_for_no_more() -> None:
    def three(start: Start) -> Flow:
        first = yield Ask("a", verbatim("a?"))
        second = yield Ask("b", verbatim("b?"))
        third = yield Ask("c", verbatim("c?"))
        yield Say(verbatim(f"{first} {second} {third}"))
        return None

    flow("three")(three)
    chat = Chat()
    chat.begin("three")
    assert chat.feed("a", "1", c="3") == ["b?"]
    assert chat.feed("b", "2") == ["1 2 3"]
    assert chat.known.conversation.flows == ()


def test_a_change_is_written_to_the_tub_and_to_the_journal_once() -> None:
    def measure(start: Start) -> Flow:
        yield Change("volume", tub={"volume": 900.0})
        yield Ask("more", verbatim("more?"))
        yield Ask("again", verbatim("again?"))
        return None

    flow("measure")(measure)
    chat = Chat()
    chat.begin("measure")
    chat.feed("more", "no")
    assert chat.known.tub
    assert chat.known.tub.volume == 900.0
    told = [entry.fact for entry in chat.known.journal if isinstance(entry.fact, Told)]
    assert told == [Told(about="tub", values={"volume": 900.0})]


def test_a_flow_that_ends_is_followed_by_the_one_it_names_or_by_the_one_below() -> None:
    def first(start: Start) -> Flow:
        yield Ask("q", verbatim("first?"))
        return Next("second")

    def second(start: Start) -> Flow:
        yield Ask("q", verbatim("second?"))
        return None

    flow("first")(first)
    flow("second")(second)
    flow("walk")(_walk)
    chat = Chat()
    chat.begin("walk")
    chat.begin("first")
    assert chat.feed("q", "x") == ["second?"]
    assert chat.feed("q", "x")[0].endswith("name?")


def test_a_wait_that_ends_below_comes_to_the_top() -> None:
    def short(start: Start) -> Flow:
        yield Ask("q", verbatim("short?"))
        return None

    flow("walk")(_walk)
    flow("short")(short)
    chat = Chat()
    chat.begin("walk")
    chat.feed("name", "Ada")
    chat.feed("colour", "red")
    walking = chat.known.conversation.flows[-1]
    chat.begin("short")
    draft = chat.draft()
    stack.end_wait(draft, walking, "dry")
    assert chat.settle(draft) == ["dry now\n\nend?"]
    assert [opened.flow for opened in chat.known.conversation.flows] == ["short", "walk"]


def test_a_wait_that_ends_while_held_says_its_part_when_taken_up_again() -> None:
    flow("walk")(_walk)
    chat = Chat()
    chat.begin("walk")
    chat.feed("name", "Ada")
    chat.feed("colour", "red")
    draft = chat.draft()
    stack.hold(draft, chat.known.conversation.flows[-1], "dry")
    assert chat.settle(draft) == []
    assert chat.resume() == ["dry now\n\nend?"]


def test_a_flow_that_has_changed_asks_only_what_it_does_not_know() -> None:
    flow("walk")(_walk)
    chat = Chat()
    chat.begin("walk")
    chat.feed("name", "Ada")

    def longer(start: Start) -> Flow:
        yield Ask("name", verbatim("name?"))
        yield Ask("age", verbatim("age?"))
        yield Ask("colour", verbatim("colour?"))
        return None

    FLOWS["walk"] = longer
    assert chat.resume() == ["age?"]


def test_a_flow_that_cannot_be_resumed_begins_again_and_says_so() -> None:
    flow("walk")(_walk)
    chat = Chat()
    chat.begin("walk")
    chat.feed("name", "Ada")

    def broken(start: Start) -> Flow:
        answer = yield Ask("name", verbatim("name?"))
        yield Say(verbatim(str(int(answer))))
        return None

    FLOWS["walk"] = broken
    said = chat.resume()
    assert said[0].startswith("I have to begin this part again")
    assert said[0].endswith("name?")


def test_a_filled_fact_can_be_dated() -> None:
    def fill(start: Start) -> Flow:
        yield Record("fill", Filled(litres=900), at=NOON - timedelta(hours=5))
        return None

    flow("fill")(fill)
    chat = Chat()
    chat.begin("fill")
    assert chat.known.journal[0].at == NOON - timedelta(hours=5)


def test_a_value_that_cannot_be_computed_is_a_fault_and_not_a_flow_that_has_changed() -> None:
    def broken(start: Start) -> Flow:
        yield Keep("half", lambda live: 1 // 0)
        return None

    flow("broken")(broken)
    with pytest.raises(KeptFailed, match="could not compute 'half'"):
        Chat().begin("broken")

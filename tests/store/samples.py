"""Invented people, tubs and messages, made short."""

from datetime import UTC, datetime, timedelta

from bot.model.dealer import Dealer
from bot.model.due import Due
from bot.model.event import Arrival, Event, Wrote
from bot.model.fact import Entry, Fact, Noted
from bot.model.message import Lane, Message
from bot.model.person import Address, Person
from bot.model.tub import Tub

NOON = datetime(2027, 3, 1, 12, 0, tzinfo=UTC)
CHANNEL = "telegram"
NORTH = Dealer(key="north", name="North Quay Tubs", zone="Europe/Oslo")
SOUTH = Dealer(key="south", name="South Quay Tubs")


def later(**span: float) -> datetime:
    return NOON + timedelta(**span)


def chat(name: str) -> Address:
    return Address(channel=CHANNEL, chat=name)


ADA = Person(key="ada", dealer="north", name="Ada", address=chat("1"))
BO = Person(key="bo", dealer="north", name="Bo", address=chat("2"))
TOM = Person(key="tom", dealer="north", name="Tom", role="technician", address=chat("3"))
FLO = Person(key="flo", dealer="north", name="Flo")
CEDAR = Tub(key="cedar", dealer="north", volume=1300)
BIRCH = Tub(key="birch", dealer="north", volume=900)


def wrote(
    update: str, text: str = "hello", *, at: str = "1", dealer: str = "north", moment: datetime = NOON
) -> Arrival:
    return arrival(update, Wrote(text=text), at=at, dealer=dealer, moment=moment)


def arrival(
    update: str, event: Event | None, *, at: str = "1", dealer: str = "north", moment: datetime = NOON
) -> Arrival:
    return Arrival(dealer=dealer, address=chat(at), update=update, at=moment, event=event, name="A. Person")


def entry(
    key: str, fact: Fact | None = None, *, tub: str | None = "cedar", person: str | None = "ada", at: datetime = NOON
) -> Entry:
    return Entry(key=key, dealer="north", tub=tub, person=person, at=at, via=CHANNEL, fact=fact or Noted(text=key))


def message(text: str, *, to: str = "ada", lane: Lane = "reply", address: Address | None = None) -> Message:
    return Message(to=to, text=text, lane=lane, address=address)


def due(key: str, at: datetime, *, person: str = "ada", tub: str | None = "cedar", what: str = "test") -> Due:
    return Due(key=key, dealer="north", kind="reminder", what=what, person=person, tub=tub, at=at)

"""People: owners, technicians and the dealer's own staff."""

import hashlib
from typing import Literal

from bot.model.dealer import Quiet
from bot.model.record import Moment, Record
from bot.model.zones import Zone

Role = Literal["owner", "technician", "dealer", "group"]
"""A group of the dealer's people is reached as a person is."""
Units = Literal["metric", "us"]
Standing = Literal["active", "stopped", "blocked", "erased"]


class Address(Record):
    """Where a person is reached: a channel and the chat in it."""

    channel: str
    chat: str


class Person(Record):
    """Somebody who talks with the bot."""

    key: str
    dealer: str
    name: str = ""
    role: Role = "owner"
    address: Address | None = None
    language: str = "en"
    units: Units = "metric"
    zone: Zone = "UTC"
    quiet: Quiet = Quiet()
    standing: Standing = "active"
    always_reminded: bool = False
    """Whether reminders come to this person also where somebody else of the household gets them."""
    paused_until: Moment | None = None
    agreed_at: Moment | None = None
    """When this person was told what is stored and went on."""
    phones: tuple[str, ...] = ()
    """In E.164 form, the one to try first before the others."""
    email: str = ""
    number: str = ""
    """The dealer's own number for this customer."""
    region: str = ""
    tags: tuple[str, ...] = ()
    note: str = ""
    """What the dealer's list says beside; for the dealer's people alone."""


def digest_of(secret: str) -> str:
    """What is stored of an invite's secret: its SHA-256. The secret has 128 random bits, so no salt is needed."""
    return hashlib.sha256(secret.encode()).hexdigest()


class Invite(Record):
    """A single-use way in. Only the hash of its secret is stored."""

    digest: str
    dealer: str
    role: Role = "owner"
    name: str = ""
    tub: str | None = None
    expires: Moment
    used_by: str | None = None
    """The person who used it."""
    hands_on: bool = False
    """Whether the tub is whoever uses it's alone from then on: everybody else leaves it, and what was theirs goes."""
    person: str | None = None
    """Whom it is for, where the dealer has them in the books already: whoever uses it becomes that person."""

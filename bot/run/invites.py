"""Invites of a whole house: who waits for one, making them, withdrawing them."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime

from bot.desk.invites import Waiting, new_invite, waiting
from bot.model.dealer import Dealer
from bot.model.fact import Entry
from bot.model.person import Invite
from bot.model.trail import InvitesIssued
from bot.pictures.cards import Card
from bot.run.paged import pages
from bot.store.contract import Owned, Store
from bot.talk.words import Words, line

SLICE = 500


@dataclass(frozen=True, slots=True)
class Issued:
    """An invite as it is handed out; the secret is nowhere else."""

    waiting: Waiting
    secret: str
    expires: datetime


async def not_joined(store: Store, dealer: str, now: datetime) -> list[Waiting]:
    """Owners in the books who have not joined, by name."""
    owned: list[Owned] = []
    async for page in pages(store.owners, dealer):
        owned += page
    return waiting(owned, await store.open_invites(dealer), now)


async def issue(
    store: Store, dealer: str, people: Sequence[Waiting], now: datetime, *, days: int, by: str | None, via: str
) -> list[Issued]:
    """A new invite for each; the ones they had before are withdrawn."""
    made: list[Issued] = []
    for start in range(0, len(people), SLICE):
        part = people[start : start + SLICE]
        await withdraw(store, dealer, [one for one in part if one.invites], now, by=by, via=via)
        new = [_invite(dealer, one, now, days) for one in part]
        await store.put_invites([invite for _, invite in new])
        made += [Issued(one, secret, invite.expires) for one, (secret, invite) in zip(part, new, strict=True)]
        await store.write([_entry("issued", dealer, part, now, by, via)])
    return made


def _invite(dealer: str, one: Waiting, now: datetime, days: int) -> tuple[str, Invite]:
    tub = one.tub.key if one.tub else None
    return new_invite(dealer, now, name=one.person.name, tub=tub, person=one.person.key, days=days)


async def withdraw(
    store: Store, dealer: str, people: Sequence[Waiting], now: datetime, *, by: str | None, via: str
) -> int:
    """Withdraw every invite of these that is not used; returns how many were."""
    gone = await store.withdraw_invites(dealer, [invite.digest for one in people for invite in one.invites], now)
    if gone:
        await store.write([_entry("withdrawn", dealer, people, now, by, via)])
    return gone


def _entry(what: str, dealer: str, people: Sequence[Waiting], now: datetime, by: str | None, via: str) -> Entry:
    keys = tuple(one.person.key for one in people)
    fact = InvitesIssued.model_validate({"what": what, "people": keys})
    key = f"invites:{what}:{now.timestamp():.3f}:{keys[0] if keys else ''}"
    return Entry(key=key, dealer=dealer, tub=None, person=by, at=now, via=via, fact=fact)


def card_of(issued: Issued, dealer: Dealer, link: Callable[[str], str]) -> Card:
    """What is printed on an owner's card, in their language."""
    person, tub = issued.waiting.person, issued.waiting.tub
    words = Words.of(person)
    serial = words.text(line("cards.serial", serial=tub.serial)) if tub and tub.serial else ""
    model = tub.model if tub and tub.model else ""
    return Card(
        dealer=dealer.name,
        name=person.name or words.text(line("cards.no_name")),
        detail=", ".join(part for part in (model, serial) if part),
        how=dealer.words.card.get(person.language) or words.text(line("cards.how")),
        until=words.text(line("cards.until", day=issued.expires.date())),
        link=link(issued.secret),
    )

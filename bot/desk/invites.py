"""Who has not joined yet, and invites for them."""

import secrets
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

from bot.model.person import Invite, Person, Role, digest_of
from bot.model.tub import Tub

SECRET_BYTES = 24
DAYS = 60
"""How long an invite in a delivery folder can be used: a tub may stand a while before it is filled."""

Way = Literal["none", "open", "expired"]


@dataclass(frozen=True, slots=True)
class Waiting:
    """An owner who is in the books and has not joined. `invites` are those not used, the newest last."""

    person: Person
    tub: Tub | None
    invites: tuple[Invite, ...]
    way: Way


def waiting(owned: Iterable[tuple[Person, Sequence[Tub]]], invites: Sequence[Invite], now: datetime) -> list[Waiting]:
    """Owners who have not joined, by name."""
    theirs: dict[str, list[Invite]] = {}
    for invite in invites:
        theirs.setdefault(invite.person or "", []).append(invite)
    found = []
    for person, tubs in owned:
        if person.address is not None or person.standing == "erased":
            continue
        mine = tuple(sorted(theirs.get(person.key, ()), key=lambda invite: invite.expires))
        way: Way = "none" if not mine else "open" if mine[-1].expires > now else "expired"
        found.append(Waiting(person, tubs[0] if tubs else None, mine, way))
    return sorted(found, key=lambda one: (one.person.name.casefold(), one.person.key))


def new_invite(
    dealer: str,
    now: datetime,
    *,
    name: str = "",
    role: Role = "owner",
    tub: str | None = None,
    person: str | None = None,
    days: int = DAYS,
) -> tuple[str, Invite]:
    """A secret of 192 random bits that fits into a link, and the invite that holds its digest alone."""
    secret = secrets.token_urlsafe(SECRET_BYTES)
    digest = digest_of(secret)
    expires = now + timedelta(days=days)
    return secret, Invite(digest=digest, dealer=dealer, name=name, role=role, tub=tub, person=person, expires=expires)

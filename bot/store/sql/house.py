"""The house: dealers, people, tubs, who belongs to which, and invites."""

from collections.abc import Iterable, Sequence
from json import dumps, loads

from pydantic import JsonValue

from bot.model.dealer import Dealer
from bot.model.person import Address, Invite, Person
from bot.model.tub import Tub
from bot.store.contract import Conflict, Contradiction, Owned
from bot.store.sql.records import dealer_from, invite_from, invite_row, person_from, person_row, tub_from
from bot.store.sql.unit import Unit

PUT_DEALER = "INSERT INTO dealers (key, body) VALUES (:key, :body) ON CONFLICT (key) DO UPDATE SET body = excluded.body"
DEALERS = "SELECT body FROM dealers ORDER BY key"
DEALER = "SELECT body FROM dealers WHERE key = :key"
PUT_PERSON = """
INSERT INTO people (dealer, key, role, standing, channel, chat, body)
VALUES (:dealer, :key, :role, :standing, :channel, :chat, :body)
ON CONFLICT (dealer, key) DO UPDATE
SET role = excluded.role, standing = excluded.standing, channel = excluded.channel, chat = excluded.chat,
    body = excluded.body
"""
PERSON = "SELECT * FROM people WHERE dealer = :dealer AND key = :key"
PERSON_AT = "SELECT * FROM people WHERE dealer = :dealer AND channel = :channel AND chat = :chat"
REOPEN = "UPDATE people SET standing = 'active' WHERE dealer = :dealer AND key = :key AND standing = 'blocked'"
STAFF = """
SELECT * FROM people INDEXED BY people_staff
WHERE dealer = :dealer AND role <> 'owner' AND role <> 'group' AND standing = 'active'
ORDER BY key
"""
PUT_TUB = """
INSERT INTO tubs (dealer, key, body) VALUES (:dealer, :key, :body)
ON CONFLICT (dealer, key) DO UPDATE SET body = excluded.body
"""
TUB = "SELECT body FROM tubs WHERE dealer = :dealer AND key = :key"
# A link made again becomes the newest.
UNLINK = "DELETE FROM links WHERE dealer = :dealer AND person = :person AND tub = :tub"
LINK = "INSERT INTO links (dealer, person, tub) VALUES (:dealer, :person, :tub)"
NEWEST_TUB = "SELECT tub FROM links WHERE dealer = :dealer AND person = :person ORDER BY number DESC LIMIT 1"
TUBS_OF = """
SELECT tubs.body FROM links JOIN tubs ON tubs.dealer = links.dealer AND tubs.key = links.tub
WHERE links.dealer = :dealer AND links.person = :person
ORDER BY links.number DESC
"""
OF_SEVERAL = """
SELECT person FROM links WHERE dealer = :dealer AND tub = :tub AND EXISTS (
    SELECT 1 FROM links AS other
    WHERE other.dealer = :dealer AND other.person = links.person AND other.tub <> :tub)
"""
HOUSEHOLD = """
SELECT people.* FROM links JOIN people ON people.dealer = links.dealer AND people.key = links.person
WHERE links.dealer = :dealer AND links.tub = :tub
ORDER BY links.number
"""
PUT_INVITE = """
INSERT INTO invites (dealer, digest, tub, expires, used_by, person, body)
VALUES (:dealer, :digest, :tub, :expires, :used_by, :person, :body)
ON CONFLICT (dealer, digest) DO UPDATE
SET tub = excluded.tub, expires = excluded.expires, used_by = excluded.used_by, person = excluded.person,
    body = excluded.body
"""
OPEN_INVITES = """
SELECT * FROM invites WHERE dealer = :dealer AND used_by IS NULL AND person IS NOT NULL ORDER BY person, expires
"""
OWNERS = """
SELECT * FROM people WHERE dealer = :dealer AND key > :after AND role = 'owner' ORDER BY key LIMIT :limit
"""
THEIR_TUBS = """
SELECT links.person, tubs.body FROM links JOIN tubs ON tubs.dealer = links.dealer AND tubs.key = links.tub
WHERE links.dealer = :dealer AND links.person BETWEEN :first AND :last
ORDER BY links.number DESC
"""
WITHDRAW = """
UPDATE invites SET expires = :now
WHERE dealer = :dealer AND digest = :digest AND used_by IS NULL AND expires > :now
"""
MEMORY = "SELECT body FROM memories WHERE dealer = :dealer AND name = :name"
REMEMBER = """
INSERT INTO memories (dealer, name, body) VALUES (:dealer, :name, :body)
ON CONFLICT (dealer, name) DO UPDATE SET body = excluded.body
"""
INVITE = "SELECT * FROM invites WHERE dealer = :dealer AND digest = :digest"
USE_INVITE = """
UPDATE invites SET used_by = :person
WHERE dealer = :dealer AND digest = :digest AND (used_by IS NULL OR used_by = :person)
"""
MOVE = """
UPDATE people SET chat = :new
WHERE dealer = :dealer AND channel = :channel AND chat = :chat AND NOT EXISTS (
    SELECT 1 FROM people AS there
    WHERE there.dealer = :dealer AND there.channel = :channel AND there.chat = :new)
"""


def put_dealer(db: Unit, dealer: Dealer) -> None:
    """Add or change a dealer."""
    db.execute(PUT_DEALER, {"key": dealer.key, "body": dealer.model_dump_json()})


def dealers(db: Unit) -> list[Dealer]:
    """Every dealer."""
    return [dealer_from(row["body"]) for row in db.execute(DEALERS).fetchall()]


def dealer_named(db: Unit, key: str) -> Dealer:
    """The dealer with that key; Contradiction if there is none."""
    row = db.execute(DEALER, {"key": key}).fetchone()
    if row is None:
        raise Contradiction(f"there is no dealer {key!r}")
    return dealer_from(row["body"])


def put(db: Unit, dealer: str, people: Iterable[Person], tubs: Iterable[Tub], links: Iterable[tuple[str, str]]) -> None:
    """Add or change tubs, people and links, all of one dealer."""
    people, links = tuple(people), tuple(links)
    db.lock("books", [(dealer, "person", person.key) for person in people])
    for tub in tubs:
        _same_dealer(dealer, tub.dealer)
        db.execute(PUT_TUB, {"dealer": dealer, "key": tub.key, "body": tub.model_dump_json()})
    for person in people:
        _same_dealer(dealer, person.dealer)
        db.execute(PUT_PERSON, person_row(person))
    for person_key, tub_key in links:
        for sql in (UNLINK, LINK):
            db.execute(sql, {"dealer": dealer, "person": person_key, "tub": tub_key})


def unlink(db: Unit, dealer: str, links: Iterable[tuple[str, str]]) -> None:
    """End who belongs to which tub."""
    for person, tub in links:
        db.execute(UNLINK, {"dealer": dealer, "person": person, "tub": tub})


def owners(db: Unit, dealer: str, after: str, limit: int) -> list[Owned]:
    """Owners behind a key with their tubs."""
    people = list(map(person_from, db.execute(OWNERS, {"dealer": dealer, "after": after, "limit": limit}).fetchall()))
    if not people:
        return []
    tubs: dict[str, list[Tub]] = {}
    for row in db.execute(THEIR_TUBS, {"dealer": dealer, "first": people[0].key, "last": people[-1].key}).fetchall():
        tubs.setdefault(row["person"], []).append(tub_from(row["body"]))
    return [Owned(person, tuple(tubs.get(person.key, ()))) for person in people]


def bring_in(
    db: Unit,
    dealer: str,
    people: Sequence[tuple[Person | None, Person]],
    tubs: Sequence[tuple[Tub | None, Tub]],
    links: Iterable[tuple[str, str]],
) -> None:
    """Add or change people and tubs that are still as they were read; Conflict if one is not."""
    db.lock("books", [(dealer, "person", after.key) for _, after in people])
    for before, after in people:
        if person_named(db, dealer, after.key) != before:
            raise Conflict("a person has changed")
    for was, becomes in tubs:
        if tub_named(db, dealer, becomes.key) != was:
            raise Conflict("a tub has changed")
    put(db, dealer, [after for _, after in people], [becomes for _, becomes in tubs], links)


def withdraw_invites(db: Unit, dealer: str, digests: Iterable[str], now: int) -> int:
    """Let unused invites expire; returns how many could be used until now."""
    return sum(db.execute(WITHDRAW, {"dealer": dealer, "digest": digest, "now": now}).rowcount for digest in digests)


def open_invites(db: Unit, dealer: str) -> list[Invite]:
    """Invites for people in the books that nobody has used."""
    return [invite_from(row) for row in db.execute(OPEN_INVITES, {"dealer": dealer}).fetchall()]


def memory(db: Unit, dealer: str, name: str) -> JsonValue:
    """What is remembered under a name."""
    row = db.execute(MEMORY, {"dealer": dealer, "name": name}).fetchone()
    return None if row is None else loads(row["body"])


def remember(db: Unit, dealer: str, name: str, value: JsonValue) -> None:
    """Remember a value under a name."""
    db.execute(REMEMBER, {"dealer": dealer, "name": name, "body": dumps(value)})


def _same_dealer(dealer: str, other: str) -> None:
    if dealer != other:
        raise Contradiction(f"a record of dealer {other!r} cannot be written for dealer {dealer!r}")


def person_named(db: Unit, dealer: str, key: str | None) -> Person | None:
    """The person with that key."""
    row = db.execute(PERSON, {"dealer": dealer, "key": key}).fetchone()
    return None if row is None else person_from(row)


def person_at(db: Unit, dealer: str, address: Address) -> Person | None:
    """Who is behind an address."""
    row = db.execute(PERSON_AT, {"dealer": dealer, "channel": address.channel, "chat": address.chat}).fetchone()
    return None if row is None else person_from(row)


def staff(db: Unit, dealer: str) -> tuple[Person, ...]:
    """The dealer's active technicians and dealer people."""
    return tuple(map(person_from, db.execute(STAFF, {"dealer": dealer}).fetchall()))


def tub_named(db: Unit, dealer: str, key: str | None) -> Tub | None:
    """The tub with that key."""
    row = db.execute(TUB, {"dealer": dealer, "key": key}).fetchone()
    return None if row is None else tub_from(row["body"])


def newest_tub(db: Unit, dealer: str, person: str) -> Tub | None:
    """The tub that a person was linked to last."""
    row = db.execute(NEWEST_TUB, {"dealer": dealer, "person": person}).fetchone()
    return None if row is None else tub_named(db, dealer, row["tub"])


def tubs_of(db: Unit, dealer: str, person: str) -> tuple[Tub, ...]:
    """The tubs that a person is linked to, the newest link first."""
    rows = db.execute(TUBS_OF, {"dealer": dealer, "person": person}).fetchall()
    return tuple(tub_from(row["body"]) for row in rows)


def of_several(db: Unit, dealer: str, tub: str) -> list[str]:
    """Those on a tub who have others too."""
    return [row["person"] for row in db.execute(OF_SEVERAL, {"dealer": dealer, "tub": tub}).fetchall()]


def household(db: Unit, dealer: str, tub: str) -> tuple[Person, ...]:
    """Everybody on a tub, in the order in which they came."""
    return tuple(map(person_from, db.execute(HOUSEHOLD, {"dealer": dealer, "tub": tub}).fetchall()))


def put_invite(db: Unit, invite: Invite) -> None:
    """Add or change an invite."""
    db.execute(PUT_INVITE, invite_row(invite))


def invite_of(db: Unit, dealer: str, digest: str) -> Invite | None:
    """The invite with that digest."""
    row = db.execute(INVITE, {"dealer": dealer, "digest": digest}).fetchone()
    return None if row is None else invite_from(row)


def use_invite(db: Unit, dealer: str, digest: str, person: str) -> bool:
    """Mark an invite used; False if it is not there or somebody else used it."""
    return db.execute(USE_INVITE, {"dealer": dealer, "digest": digest, "person": person}).rowcount == 1

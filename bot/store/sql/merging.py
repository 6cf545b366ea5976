"""Two people, or two tubs, that were one all along: whatever names the one names the other from now on."""

from bot.model.person import Person
from bot.model.tub import Tub
from bot.store.contract import Conflict
from bot.store.sql.house import PUT_PERSON, PUT_TUB, person_named, tub_named
from bot.store.sql.records import conversation_from, conversation_json, person_row
from bot.store.sql.unit import Unit, Values

PEOPLE = (
    "UPDATE journal SET person = :keep WHERE dealer = :dealer AND person = :drop",
    """
    DELETE FROM links WHERE dealer = :dealer AND person = :drop AND tub IN (
        SELECT tub FROM links AS there WHERE there.dealer = :dealer AND there.person = :keep)
    """,
    "UPDATE links SET person = :keep WHERE dealer = :dealer AND person = :drop",
    "UPDATE invites SET used_by = :keep WHERE dealer = :dealer AND used_by = :drop",
    "UPDATE invites SET person = :keep WHERE dealer = :dealer AND person = :drop",
    "UPDATE dues SET person = :keep WHERE dealer = :dealer AND person = :drop",
    "DELETE FROM errands WHERE dealer = :dealer AND person = :drop",
    """
    UPDATE outbox SET round = NULL WHERE dealer = :dealer AND person = :drop AND round IN (
        SELECT round FROM outbox AS there WHERE there.dealer = :dealer AND there.person = :keep)
    """,
    "UPDATE outbox SET person = :keep WHERE dealer = :dealer AND person = :drop",
    """
    DELETE FROM round_rows WHERE dealer = :dealer AND person = :drop AND round IN (
        SELECT round FROM round_rows AS there WHERE there.dealer = :dealer AND there.person = :keep)
    """,
    "UPDATE round_rows SET person = :keep WHERE dealer = :dealer AND person = :drop",
    "DELETE FROM people WHERE dealer = :dealer AND key = :drop",
)
"""Of a message to many that reached both, the row of whoever stays counts."""
TUBS = (
    "UPDATE journal SET tub = :keep WHERE dealer = :dealer AND tub = :drop",
    """
    DELETE FROM links WHERE dealer = :dealer AND tub = :drop AND person IN (
        SELECT person FROM links AS there WHERE there.dealer = :dealer AND there.tub = :keep)
    """,
    "UPDATE links SET tub = :keep WHERE dealer = :dealer AND tub = :drop",
    "UPDATE invites SET tub = :keep WHERE dealer = :dealer AND tub = :drop",
    "UPDATE dues SET tub = :keep WHERE dealer = :dealer AND tub = :drop",
    "UPDATE inbox SET tub = :keep WHERE dealer = :dealer AND tub = :drop",
    "UPDATE round_rows SET tub = :keep WHERE dealer = :dealer AND tub = :drop",
    "DELETE FROM tubs WHERE dealer = :dealer AND key = :drop",
)
TALK = "SELECT * FROM conversations WHERE dealer = :dealer AND channel = :channel AND chat = :chat"
CLOSE = """
UPDATE conversations SET body = :body, version = version + 1
WHERE dealer = :dealer AND channel = :channel AND chat = :chat
"""


def merge_people(db: Unit, dealer: str, keep: Person, drop: Person, both: Person) -> None:
    """Make two people one. Conflict if one of them has changed since it was read."""
    db.lock("books", [(dealer, "person", key) for key in (keep.key, drop.key)])
    if (person_named(db, dealer, keep.key), person_named(db, dealer, drop.key)) != (keep, drop):
        raise Conflict("a person has changed")
    for one in (keep, drop):
        _close_talk(db, dealer, one)
    values: Values = {"dealer": dealer, "keep": keep.key, "drop": drop.key}
    for sql in PEOPLE:
        db.execute(sql, values)
    db.execute(PUT_PERSON, person_row(both))


def _close_talk(db: Unit, dealer: str, person: Person) -> None:
    """End what is open in somebody's chat: it was begun with what was known of one of two."""
    if person.address is None:
        return
    chat: Values = {"dealer": dealer, "channel": person.address.channel, "chat": person.address.chat}
    row = db.execute(TALK, chat).fetchone()
    if row is not None:
        closed = conversation_from(row).model_copy(update={"flows": (), "tub": "", "tub_at": None})
        db.execute(CLOSE, {**chat, "body": conversation_json(closed)})


def merge_tubs(db: Unit, dealer: str, keep: Tub, drop: Tub, both: Tub) -> None:
    """Make two tubs one. Conflict if one of them has changed since it was read."""
    db.lock("books", [(dealer, "tub", key) for key in (keep.key, drop.key)])
    if (tub_named(db, dealer, keep.key), tub_named(db, dealer, drop.key)) != (keep, drop):
        raise Conflict("a tub has changed")
    values: Values = {"dealer": dealer, "keep": keep.key, "drop": drop.key}
    for sql in TUBS:
        db.execute(sql, values)
    db.execute(PUT_TUB, {"dealer": dealer, "key": keep.key, "body": both.model_dump_json()})

"""All that is stored on one person, as it is handed over: what `erasure.py` would remove, and their tubs' facts.

Left out is what would let somebody in (an invite's digest) and how the rows are worked off (leases, heads, attempts).
"""

from collections.abc import Mapping
from json import loads
from typing import Any

from pydantic import JsonValue

from bot.store.sql.house import person_named
from bot.store.sql.records import from_ms
from bot.store.sql.unit import Row, Unit, Values

QUERIES: dict[str, str] = {
    "people": "SELECT body, standing, channel, chat FROM people WHERE dealer = :dealer AND key = :person",
    "tubs": "SELECT t.body FROM tubs AS t JOIN links AS l ON l.dealer = t.dealer AND l.tub = t.key"
    " WHERE l.dealer = :dealer AND l.person = :person ORDER BY l.number",
    "links": "SELECT tub FROM links WHERE dealer = :dealer AND person = :person ORDER BY number",
    "invites": "SELECT tub, expires, body FROM invites WHERE dealer = :dealer"
    " AND (used_by = :person OR person = :person) ORDER BY expires",
    # What others of the household wrote is theirs. What the dealer's people said about this person's case is not.
    "journal": "SELECT tub, person = :person AS own, at, via, kind, body FROM journal AS j"
    " WHERE dealer = :dealer AND (person = :person OR tub IN"
    "   (SELECT tub FROM links AS l WHERE l.dealer = :dealer AND l.person = :person)"
    "   AND (person IS NULL OR NOT EXISTS (SELECT 1 FROM people AS p WHERE p.dealer = j.dealer AND p.key = j.person"
    "     AND p.role = 'owner'))) ORDER BY number",
    "conversations": "SELECT body FROM conversations WHERE dealer = :dealer AND channel = :channel AND chat = :chat",
    "dues": "SELECT kind, what, tub, at FROM dues WHERE dealer = :dealer AND person = :person ORDER BY at, key",
    "inbox": "SELECT at, state, why, handled_at, body FROM inbox"
    " WHERE dealer = :dealer AND channel = :channel AND chat = :chat ORDER BY number",
    "outbox": "SELECT at, state, why, finished_at, body FROM outbox"
    " WHERE dealer = :dealer AND (person = :person OR channel = :channel AND chat = :chat) ORDER BY number",
    "errands": "SELECT body FROM errands WHERE dealer = :dealer AND person = :person ORDER BY number",
    "round_rows": "SELECT round, state, why, at, answer, answered_at FROM round_rows"
    " WHERE dealer = :dealer AND person = :person ORDER BY number",
    "live_messages": "SELECT live, reference FROM live_messages"
    " WHERE dealer = :dealer AND channel = :channel AND chat = :chat ORDER BY live",
}
"""What is handed over of each table."""
OF_NOBODY: Mapping[str, str] = {
    "dealers": "the dealer's own settings",
    "open_cases": "follows from the journal",
    "pauses": "the channel's",
    "topics": "the group's",
    "leases": "the service's",
    "memories": "how the dealer's lists are understood: titles of columns",
    "rounds": "the dealer's texts to many",
}
"""The tables that hold nothing of one person, and why."""
_MOMENTS = frozenset({"at", "expires", "handled_at", "finished_at", "answered_at"})


def about(db: Unit, dealer: str, key: str) -> dict[str, JsonValue] | None:
    """Everything by table, times in ISO form; None if there is nobody of that key."""
    person = person_named(db, dealer, key)
    if person is None:
        return None
    address = person.address
    values: Values = {
        "dealer": dealer,
        "person": key,
        "channel": address.channel if address else "",
        "chat": address.chat if address else None,
    }
    told: dict[str, Any] = {
        table: [_told(row) for row in db.execute(sql, values).fetchall()] for table, sql in QUERIES.items()
    }
    own = {entry["body"]["case"] for entry in told["journal"] if entry["own"] and entry["kind"] == "case"}
    told["journal"] = [entry for entry in told["journal"] if _is_theirs(entry, own)]
    return told


def _is_theirs(entry: dict[str, Any], own: set[str]) -> bool:
    """Whether an entry is their own, their tub's, or said in a case of theirs."""
    return bool(entry["own"]) or "case" not in entry["body"] or entry["body"]["case"] in own


def _told(row: Row) -> dict[str, Any]:
    return {name: _value(name, row[name]) for name in row.keys() if row[name] is not None}  # noqa: SIM118 - a row is no mapping


def _value(name: str, value: str | int) -> JsonValue:
    if name == "body":
        body = loads(str(value))
        return {part: body[part] for part in body if part != "digest"}
    if name == "own":
        return bool(value)
    return from_ms(int(value)).isoformat() if name in _MOMENTS and value else value

"""Erasing a person: what the tub went through stays, who told it and in which words goes.

What remains of the person is a key with the standing `erased`, so that nothing that still names it points nowhere.
"""

from collections.abc import Iterable

from bot.model.fact import CaseCleared, CaseNoted, CaseOpened, CaseSaid, Corrected, Fact, Noted, Plain, Told
from bot.model.person import Person
from bot.store.sql.house import PUT_PERSON, person_named
from bot.store.sql.records import fact_from, fact_json, person_row
from bot.store.sql.unit import Row, Unit, Values

# What was done about others stays in the trail, without who did it.
OWN_ENTRIES = """
DELETE FROM journal WHERE dealer = :dealer AND person = :person AND tub IS NULL
  AND kind NOT IN ('acted', 'brought', 'invites', 'round_order')
"""
TOLD = "SELECT number, body FROM journal WHERE dealer = :dealer AND person = :person"
# What the dealer's people said in this person's cases names no person of the tub, but is about one.
CASES = "SELECT body, tub FROM journal WHERE dealer = :dealer AND person = :person AND kind = 'case'"
OF_CASES = """
SELECT number, body FROM journal
WHERE dealer = :dealer AND tub = :tub AND kind IN ('case_said', 'case_note', 'cleared')
"""
DROP_ENTRY = "DELETE FROM journal WHERE number = :number"
REWRITE_ENTRY = "UPDATE journal SET body = :body WHERE number = :number"
NAMELESS = "UPDATE journal SET person = NULL WHERE dealer = :dealer AND person = :person"
# The update's number stays, so that the channel's repetition of it is still known as one.
SCRUB_INBOX = """
UPDATE inbox
SET chat = '', body = '{"event": null}', tub = NULL, why = NULL, head = 0, leased_until = 0,
    state = CASE state WHEN 'waiting' THEN 'done' ELSE state END, handled_at = coalesce(handled_at, :now)
WHERE dealer = :dealer AND channel = :channel AND chat = :chat
"""
NO_ROUND = """
UPDATE round_rows SET state = 'cancelled'
WHERE dealer = :dealer AND person = :person AND state IN ('waiting', 'queued')
"""
BY_CHAT = (
    "DELETE FROM outbox WHERE dealer = :dealer AND channel = :channel AND chat = :chat",
    "DELETE FROM conversations WHERE dealer = :dealer AND channel = :channel AND chat = :chat",
    "DELETE FROM live_messages WHERE dealer = :dealer AND channel = :channel AND chat = :chat",
)
BY_PERSON = (
    NO_ROUND,
    "DELETE FROM outbox WHERE dealer = :dealer AND person = :person",
    "DELETE FROM dues WHERE dealer = :dealer AND person = :person",
    "DELETE FROM errands WHERE dealer = :dealer AND person = :person",
    "DELETE FROM links WHERE dealer = :dealer AND person = :person",
    "DELETE FROM invites WHERE dealer = :dealer AND (used_by = :person OR person = :person)",
)


def erase(db: Unit, dealer: str, key: str, now: int) -> None:
    """Remove everything personal of a person; nobody of that key is nothing to do."""
    person = person_named(db, dealer, key)
    if person is None:
        return
    who: Values = {"dealer": dealer, "person": key}
    _scrub_journal(db, who)
    if person.address is not None:
        chat: Values = {"dealer": dealer, "channel": person.address.channel, "chat": person.address.chat}
        db.execute(SCRUB_INBOX, {**chat, "now": now})
        for sql in BY_CHAT:
            db.execute(sql, chat)
    for sql in BY_PERSON:
        db.execute(sql, who)
    db.execute(PUT_PERSON, person_row(Person(key=key, dealer=dealer, role=person.role, standing="erased")))


def _scrub_journal(db: Unit, who: Values) -> None:
    db.execute(OWN_ENTRIES, who)
    drop_words(db, [*_said_in_cases(db, who), *db.execute(TOLD, who).fetchall()])
    db.execute(NAMELESS, who)


def drop_words(db: Unit, entries: Iterable[Row]) -> None:
    """Leave of these entries what is left without anybody's words."""
    for row in entries:
        fact = fact_from(row["body"])
        left = without_words(fact)
        if left is None:
            db.execute(DROP_ENTRY, {"number": row["number"]})
        elif left != fact:
            db.execute(REWRITE_ENTRY, {"number": row["number"], "body": fact_json(left)})


def _said_in_cases(db: Unit, who: Values) -> list[Row]:
    """What was said in the cases that a person had opened, whoever said it."""
    cases: dict[str, set[str]] = {}
    for row in db.execute(CASES, who).fetchall():
        if row["tub"] is not None and isinstance(fact := fact_from(row["body"]), CaseOpened):
            cases.setdefault(row["tub"], set()).add(fact.case)
    found: list[Row] = []
    for tub, names in cases.items():
        rows = db.execute(OF_CASES, {"dealer": who["dealer"], "tub": tub}).fetchall()
        found.extend(row for row in rows if getattr(fact_from(row["body"]), "case", None) in names)
    return found


def without_words(fact: Fact) -> Fact | None:
    """What is left of a fact without the words of who told it; None if nothing is."""
    if isinstance(fact, Corrected):
        return fact.model_copy(update={"fact": None if fact.fact is None else _plain_without_words(fact.fact)})
    return _plain_without_words(fact)


def _plain_without_words(fact: Plain) -> Plain | None:
    match fact:
        case Noted() | CaseSaid() | CaseNoted() | Told(about="person"):
            return None
        case CaseOpened():
            return fact.model_copy(update={"text": ""})
        case CaseCleared():
            return fact.model_copy(update={"note": ""})
        case _:
            return fact

"""Rounds: what they are, how far they have come, and the orders that change their state."""

from collections.abc import Iterable, Sequence
from datetime import date, time, timedelta
from json import loads

from bot.model.message import Message
from bot.model.record import Moment
from bot.model.round import OPEN, ORDERS, Asked, Candidate, Round, RoundOrder, RoundRow, RoundState, RoundView
from bot.store.contract import Contradiction
from bot.store.sql import house, outbox, withdrawal
from bot.store.sql.candidates import Reader
from bot.store.sql.records import from_ms, to_ms
from bot.store.sql.unit import Row, Unit, Values

ENDED_SHOWN = 3
"""How many rounds that have ended are still shown."""
ASKED = timedelta(days=14)
"""How long after a round what an owner says may answer it."""
EXAMPLES = 5

PUT = """
INSERT INTO rounds (dealer, key, kind, state, made_at, body) VALUES (:dealer, :key, :kind, 'choosing', :made_at, :body)
ON CONFLICT (dealer, key) DO UPDATE SET kind = excluded.kind, body = excluded.body
WHERE rounds.state IN ('choosing', 'chosen')
"""
ONE = "SELECT * FROM rounds WHERE dealer = :dealer AND key = :key"
OF_DEALER = "SELECT * FROM rounds WHERE dealer = :dealer AND state <> 'discarded' ORDER BY number DESC LIMIT 50"
AT_WORK = """
SELECT * FROM rounds WHERE reported = 0 AND state IN ('choosing', 'running', 'paused', 'done', 'cancelled')
ORDER BY number
"""
SET_STATE = "UPDATE rounds SET state = :state, body = :body WHERE dealer = :dealer AND key = :key"
BEGIN_AGAIN = "UPDATE rounds SET state = 'choosing', seen = '', chosen = 0 WHERE dealer = :dealer AND key = :key"
# Rounds that were written and never sent: their rows first, a little at a time.
FORGET_ROWS = """
DELETE FROM round_rows WHERE number IN (
    SELECT round_rows.number FROM rounds
    JOIN round_rows ON round_rows.dealer = rounds.dealer AND round_rows.round = rounds.key
    WHERE rounds.state IN ('choosing', 'chosen') AND rounds.made_at < :before
    LIMIT :limit)
"""
DISCARD_OLD = "UPDATE rounds SET state = 'discarded' WHERE state IN ('choosing', 'chosen') AND made_at < :before"
REPORT_AGAIN = "UPDATE rounds SET reported = 0 WHERE dealer = :dealer AND key = :key"
NO_ROWS = "DELETE FROM round_rows WHERE dealer = :dealer AND round = :key"
COUNTS = "SELECT state, why, count(*) AS n FROM round_rows WHERE dealer = :dealer AND round = :key GROUP BY state, why"
ANSWERS = """
SELECT answer, count(*) AS n FROM round_rows
WHERE dealer = :dealer AND round = :key AND answer IS NOT NULL GROUP BY answer
"""
BY_PLACE = """
SELECT language, place, count(*) AS n FROM round_rows
WHERE dealer = :dealer AND round = :key AND state = 'waiting' GROUP BY language, place
"""
# One of each language first, so that a preview shows each.
EXAMPLE_ROWS = """
SELECT * FROM (
    SELECT *, row_number() OVER (PARTITION BY language ORDER BY number) AS turn FROM (
        SELECT * FROM round_rows WHERE dealer = :dealer AND round = :key AND state = 'waiting' LIMIT 1000) AS few
    ) AS turns
ORDER BY turn, number LIMIT :examples
"""
ROWS = """
SELECT round_rows.*, people.body AS person_body, tubs.body AS tub_body
FROM round_rows
JOIN people ON people.dealer = round_rows.dealer AND people.key = round_rows.person
LEFT JOIN tubs ON tubs.dealer = round_rows.dealer AND tubs.key = round_rows.tub
WHERE round_rows.dealer = :dealer AND round = :key AND round_rows.number > :after
ORDER BY round_rows.number LIMIT :limit
"""
ASKED_OF = """
SELECT round_rows.round, round_rows.at, round_rows.answer, round_rows.tub, rounds.body
FROM round_rows JOIN rounds ON rounds.dealer = round_rows.dealer AND rounds.key = round_rows.round
WHERE round_rows.dealer = :dealer AND person = :person AND round_rows.state IN ('delivered', 'unclear')
  AND round_rows.at >= :since
ORDER BY round_rows.at DESC LIMIT 5
"""
# A wish to be called stays, whatever else is said.
ANSWER = """
UPDATE round_rows SET answer = CASE WHEN answer = 'call' THEN answer ELSE :answer END, answered_at = :at
WHERE dealer = :dealer AND round = :round AND person = :person
"""
FINISH = """
UPDATE rounds SET state = CASE WHEN state = 'running' THEN 'done' ELSE state END, reported = 1
WHERE dealer = :dealer AND key = :key AND reported = 0 AND state IN ('running', 'done', 'cancelled')
  AND NOT EXISTS (SELECT 1 FROM round_rows
                  WHERE dealer = :dealer AND round = :key AND state IN ('waiting', 'queued'))
"""
WAKE = "UPDATE dues SET at = :now WHERE dealer = :dealer AND key = :wakes AND at > :now"
CANCEL_ROWS = """
UPDATE round_rows SET state = 'cancelled', at = :now WHERE dealer = :dealer AND round = :key AND state = 'waiting'
"""


def round_from(row: Row) -> Round:
    """A round from its row."""
    return Round.model_validate_json(row["body"])


def put(db: Unit, new: Round) -> None:
    """Add a round, or change one that has not begun; for other people, or asked for again, it is chosen anew."""
    values = _key(new.dealer, new.key)
    db.lock("rounds", [(new.dealer, new.key)])
    before = db.execute(ONE, values).fetchone()
    if before is not None and before["state"] not in ("choosing", "chosen"):
        return
    db.execute(PUT, {**values, "kind": new.kind, "made_at": to_ms(new.made_at), "body": new.model_dump_json()})
    if before is None:
        return
    old = round_from(before)
    if (old.whom, old.per, old.kind, old.wakes) != (new.whom, new.per, new.kind, new.wakes):
        db.execute(NO_ROWS, values)
        db.execute(BEGIN_AGAIN, values)


def order(db: Unit, dealer: str, key: str, wanted: RoundOrder, now: int) -> bool:
    """Obey an order where the round's state allows it."""
    db.lock("rounds", [(dealer, key)])
    row = db.execute(ONE, _key(dealer, key)).fetchone()
    allowed, after = ORDERS[wanted]
    if row is None or row["state"] not in allowed:
        return False
    changed = round_from(row)
    if wanted == "start":
        changed = changed.model_copy(update={"started_at": from_ms(now)})
    after = row["state"] if wanted == "report" else after
    db.execute(SET_STATE, {**_key(dealer, key), "state": after, "body": changed.model_dump_json()})
    if wanted in ("pause", "cancel"):
        withdrawal.take_back(db, dealer, key)
    if wanted == "cancel":
        db.execute(CANCEL_ROWS, {**_key(dealer, key), "now": now})
    if wanted == "discard":
        db.execute(NO_ROWS, _key(dealer, key))
    if wanted == "report":
        db.execute(REPORT_AGAIN, _key(dealer, key))
    return True


def at_work(db: Unit) -> list[tuple[Round, RoundState]]:
    """The rounds of all dealers on which there is work to do."""
    return [(round_from(row), row["state"]) for row in db.execute(AT_WORK).fetchall()]


def of_dealer(db: Unit, dealer: str) -> list[RoundView]:
    """The rounds of a dealer, newest first."""
    return [_view(db, row) for row in db.execute(OF_DEALER, {"dealer": dealer}).fetchall()]


def view(db: Unit, dealer: str, key: str) -> RoundView | None:
    """How far a round has come."""
    row = db.execute(ONE, _key(dealer, key)).fetchone()
    return None if row is None else _view(db, row)


def shown(db: Unit, dealer: str) -> tuple[RoundView, ...]:
    """The rounds that are open, and the newest of those that ended."""
    rows = db.execute(OF_DEALER, {"dealer": dealer}).fetchall()
    ended = [row for row in rows if row["state"] not in OPEN][:ENDED_SHOWN]
    return tuple(_view(db, row) for row in rows if row["state"] in OPEN or row in ended)


def asked(db: Unit, dealer: str, person: str, now: Moment) -> tuple[Asked, ...]:
    """The rounds that reached an owner lately, newest first."""
    rows = db.execute(ASKED_OF, {"dealer": dealer, "person": person, "since": to_ms(now - ASKED)}).fetchall()
    return tuple(map(_asked, rows))


def _asked(row: Row) -> Asked:
    whole = round_from(row)
    return Asked(
        round=whole.key,
        kind=whole.kind,
        at=from_ms(row["at"]),
        about=whole.whom.about,
        tub=row["tub"],
        answer=row["answer"],
    )


def answered(db: Unit, dealer: str, key: str, person: str | None, answer: str, at: int) -> None:
    """An owner answered a round."""
    db.execute(ANSWER, {"dealer": dealer, "round": key, "person": person, "answer": answer, "at": at})


def finish(db: Unit, dealer: str, key: str, messages: Sequence[Message], now: int) -> bool:
    """End a round of which nothing is left, once."""
    db.lock("rounds", [(dealer, key)])
    if db.execute(FINISH, _key(dealer, key)).rowcount != 1:
        return False
    post(db, dealer, messages, now)
    return True


def post(db: Unit, dealer: str, messages: Iterable[Message], now: int) -> None:
    """Put messages to people into the outbox; those to people who cannot be reached go nowhere."""
    for message in messages:
        person = house.person_named(db, dealer, message.to)
        if person is None:
            raise Contradiction(f"a message goes to {message.to!r}, and nobody has that key")
        if person.address is not None and person.standing not in {"blocked", "erased"}:
            outbox.append(db, dealer, person.address, message, now)


def wake(db: Unit, waited: Round, now: int) -> None:
    """Let the conversation go on that waits for the choice."""
    db.execute(WAKE, {"dealer": waited.dealer, "wakes": waited.wakes, "now": now})


def rows_of(db: Unit, dealer: str, key: str, after: int, limit: int) -> list[RoundRow]:
    """What a round came to for each owner."""
    rows = db.execute(ROWS, {**_key(dealer, key), "after": after, "limit": limit}).fetchall()
    return [_row(row) for row in rows]


def _row(row: Row) -> RoundRow:
    person = loads(row["person_body"])
    tub = loads(row["tub_body"]) if row["tub_body"] else {"name": "", "model": ""}
    return RoundRow(
        number=row["number"],
        person=row["person"],
        name=person["name"],
        phone=next(iter(person.get("phones", ())), ""),
        email=person.get("email", ""),
        tub=row["tub"],
        tub_name=tub["name"] or tub["model"] or "",
        language=row["language"],
        state=row["state"],
        why=row["why"],
        at=from_ms(row["at"]) if row["at"] else None,
        due=date.fromisoformat(row["due"]) if row["due"] else None,
        answer=row["answer"],
        answered_at=from_ms(row["answered_at"]) if row["answered_at"] is not None else None,
    )


def _view(db: Unit, row: Row) -> RoundView:
    values = _key(row["dealer"], row["key"])
    counts: dict[str, int] = {}
    reasons: dict[str, int] = {}
    for counted in db.execute(COUNTS, values).fetchall():
        counts[counted["state"]] = counts.get(counted["state"], 0) + counted["n"]
        if counted["state"] == "left_out":
            reasons[counted["why"]] = counted["n"]
    state: RoundState = row["state"]
    languages: dict[str, int] = {}
    places: dict[tuple[str, time, time], int] = {}
    for counted in db.execute(BY_PLACE, values).fetchall() if state == "chosen" else ():
        languages[counted["language"]] = languages.get(counted["language"], 0) + counted["n"]
        zone, start, end = counted["place"].split(" ")
        place = (zone, time.fromisoformat(start), time.fromisoformat(end))
        places[place] = places.get(place, 0) + counted["n"]
    return RoundView(
        round=round_from(row),
        state=state,
        counts=counts,  # type: ignore[arg-type]
        reasons=reasons,
        answers={answer["answer"]: answer["n"] for answer in db.execute(ANSWERS, values).fetchall()},
        languages=languages,
        places=places,
        examples=_examples(db, values) if state == "chosen" else (),
    )


def _examples(db: Unit, values: Values) -> tuple[Candidate, ...]:
    rows = db.execute(EXAMPLE_ROWS, {**values, "examples": EXAMPLES}).fetchall()
    dealer = values["dealer"]
    pairs = [
        (person, house.tub_named(db, dealer, row["tub"]), due_of(row), 0.0)
        for row in rows
        if (person := house.person_named(db, dealer, row["person"])) is not None
    ]
    return tuple(Reader(db, dealer, values["key"], frozenset()).of(pairs))


def due_of(row: Row) -> date | None:
    """The due date in a row."""
    return date.fromisoformat(row["due"]) if row["due"] else None


def _key(dealer: str, key: str) -> Values:
    return {"dealer": dealer, "key": key}

"""Errands: what conversations asked to be done, until it is done and its result is in the inbox."""

import json
from collections.abc import Iterable

from bot.model.errand import Errand
from bot.model.event import Arrival, Returned
from bot.store.contract import Run
from bot.store.sql import inbox
from bot.store.sql.house import person_named
from bot.store.sql.records import from_ms
from bot.store.sql.unit import Unit

SET = """
INSERT INTO errands (dealer, key, person, body) VALUES (:dealer, :key, :person, :body)
ON CONFLICT (dealer, key) DO NOTHING
"""
OLDEST_FREE = """
SELECT * FROM errands
WHERE leased_until <= :now AND dealer NOT IN (SELECT one.value FROM json_each(:elsewhere) AS one)
ORDER BY number LIMIT 1 /*pg FOR UPDATE SKIP LOCKED*/
"""
LEASE = "UPDATE errands SET leased_until = :until, attempts = attempts + 1 WHERE number = :number"
FREE_ALL = "UPDATE errands SET leased_until = 0 WHERE leased_until > 0"
DONE = "DELETE FROM errands WHERE number = :number AND attempts = :attempts"
AGAIN = "UPDATE errands SET leased_until = 0 WHERE number = :number AND attempts = :attempts"


def ask_for(db: Unit, errands: Iterable[Errand]) -> None:
    """Write errands down; one that is there already is not asked for twice."""
    for errand in errands:
        values = {"dealer": errand.dealer, "key": errand.key, "person": errand.person}
        db.execute(SET, {**values, "body": errand.model_dump_json()})


def take(db: Unit, now: int, until: int, elsewhere: Iterable[str]) -> Run | None:
    """Lease the oldest errand that nobody runs, of a dealer that is not `elsewhere`."""
    row = db.execute(OLDEST_FREE, {"now": now, "elsewhere": json.dumps(sorted(elsewhere))}).fetchone()
    if row is None:
        return None
    db.execute(LEASE, {"number": row["number"], "until": until})
    return Run(row["number"], Errand.model_validate_json(row["body"]), row["attempts"] + 1)


def finish(db: Unit, run: Run, result: Returned, now: int) -> None:
    """Put the result in the inbox of whoever asked; nothing where somebody else has run it, or they are gone."""
    errand = run.errand
    person = person_named(db, errand.dealer, errand.person)
    if person is not None and person.address is not None:
        db.lock("inbox", [(errand.dealer, person.address.channel, person.address.chat)])
    if db.execute(DONE, {"number": run.number, "attempts": run.attempts}).rowcount != 1:
        return
    if person is not None and person.address is not None:
        update = f"errand:{errand.key}"
        arrival = Arrival(dealer=errand.dealer, address=person.address, update=update, at=from_ms(now), event=result)
        inbox.receive(db, arrival)


def try_again(db: Unit, run: Run) -> None:
    """Free an errand for another try."""
    db.execute(AGAIN, {"number": run.number, "attempts": run.attempts})

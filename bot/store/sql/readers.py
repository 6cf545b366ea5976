"""Who reads a message, looked at as it leaves: hours may have passed since it was written."""

from bot.model.fact import CaseOpened
from bot.model.message import Parcel
from bot.store.sql.house import person_named
from bot.store.sql.records import fact_from
from bot.store.sql.unit import Unit

OPEN_AT_THEIRS = """
SELECT journal.body FROM open_cases JOIN journal ON journal.number = open_cases.entry
WHERE open_cases.dealer = :dealer
  AND journal.tub IN (SELECT tub FROM links WHERE dealer = :dealer AND person = :person)
"""


def with_reader(db: Unit, parcel: Parcel) -> Parcel:
    """The parcel with its reader where it comes unasked, and whether a dose in it may still be named."""
    message = parcel.message
    update: dict[str, object] = {}
    if message.is_unasked:
        update["reader"] = person_named(db, parcel.dealer, message.to)
    if message.dose is not None:
        update["withheld"] = _in_danger(db, parcel.dealer, message.to)
    return parcel.model_copy(update=update)


def _in_danger(db: Unit, dealer: str, person: str) -> bool:
    """Whether a danger is open at a tub of this person."""
    rows = db.execute(OPEN_AT_THEIRS, {"dealer": dealer, "person": person}).fetchall()
    cases = (fact_from(row["body"]) for row in rows)
    return any(isinstance(fact, CaseOpened) and fact.klass == "danger" for fact in cases)

"""A tub goes to a new owner: its water's history stays, those who had it leave it with all that is theirs."""

from collections.abc import Iterable

from bot.model.fact import (
    Added,
    CartridgeChanged,
    CaseCleared,
    CaseGivenBack,
    CaseOpened,
    CaseReopened,
    CaseTaken,
    Corrected,
    DosesHeld,
    Fact,
    Filled,
    FilterCared,
    Plain,
    PlanClosed,
    PlanIssued,
    ReadingTaken,
    Refilled,
    Soaked,
    StartedUp,
    StepPassed,
    StripsOpened,
    TestWanted,
)
from bot.model.known import Handing
from bot.store.sql.erasure import DROP_ENTRY, REWRITE_ENTRY
from bot.store.sql.house import PUT_TUB, tub_named
from bot.store.sql.records import fact_from, fact_json
from bot.store.sql.unit import Unit, Values

OF_THE_WATER = (
    Added, CartridgeChanged, Filled, FilterCared, PlanClosed, PlanIssued, ReadingTaken, Refilled, Soaked, StartedUp,
    StepPassed, StripsOpened, TestWanted,
)  # fmt: skip
"""What a tub went through, whoever told it."""
OF_CASES = (CaseTaken, CaseGivenBack, CaseReopened, DosesHeld)
THEIRS = """
SELECT number, body FROM journal WHERE dealer = :dealer AND tub = :tub AND (person IS NULL OR person <> :person)
"""
NAMELESS = """
UPDATE journal SET person = NULL
WHERE dealer = :dealer AND tub = :tub AND person <> :person AND EXISTS (
    SELECT 1 FROM people WHERE people.dealer = :dealer AND people.key = journal.person AND people.role = 'owner')
"""
LEAVE = (
    NAMELESS,
    "DELETE FROM links WHERE dealer = :dealer AND tub = :tub AND person <> :person",
    "DELETE FROM dues WHERE dealer = :dealer AND tub = :tub AND person <> :person",
    "DELETE FROM invites WHERE dealer = :dealer AND tub = :tub AND used_by IS NULL",
)


def hand_on(db: Unit, dealer: str, handing: Handing) -> None:
    """Leave of a tub what the new owner may know, and nobody else on it. Invites to it that nobody used end."""
    values: Values = {"dealer": dealer, "tub": handing.tub, "person": handing.person}
    rows = [(row["number"], fact_from(row["body"])) for row in db.execute(THEIRS, values).fetchall()]
    gone = _private((fact for _, fact in rows), handing.private)
    for number, fact in rows:
        left = _left_of(fact, gone)
        if left is None:
            db.execute(DROP_ENTRY, {"number": number})
        elif left != fact:
            db.execute(REWRITE_ENTRY, {"number": number, "body": fact_json(left)})
    for sql in LEAVE:
        db.execute(sql, values)
    tub = tub_named(db, dealer, handing.tub)
    if tub is not None:
        habits = {"name": "", "bathers": None, "soaks_per_week": None, "kit": None, "scale": None, "method": "strip"}
        fresh = tub.model_copy(update=habits)
        db.execute(PUT_TUB, {"dealer": dealer, "key": tub.key, "body": fresh.model_dump_json()})


def _private(facts: Iterable[Fact], reasons: tuple[str, ...]) -> frozenset[str]:
    """The cases of which nothing stays."""
    return frozenset(fact.case for fact in facts if isinstance(fact, CaseOpened) and set(fact.reasons) & set(reasons))


def _left_of(fact: Fact, gone: frozenset[str]) -> Fact | None:
    """What is left of a fact; None if nothing is. A correction stays: what it corrects may have stayed."""
    if isinstance(fact, Corrected):
        return fact.model_copy(update={"fact": None if fact.fact is None else _plain_left_of(fact.fact, gone)})
    return _plain_left_of(fact, gone)


def _plain_left_of(fact: Plain, gone: frozenset[str]) -> Plain | None:
    if getattr(fact, "case", None) in gone:
        return None
    match fact:
        case CaseOpened():
            return fact.model_copy(update={"text": ""})
        case CaseCleared():
            return fact.model_copy(update={"note": ""})
    return fact if isinstance(fact, OF_THE_WATER + OF_CASES) else None

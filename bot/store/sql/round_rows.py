"""The rows of a round: choosing who belongs to it, and putting the messages into the outbox, a slice at a time."""

from bot.model.person import Person
from bot.model.round import Candidate, Choose, Chosen, Decide, Put, Round, Skip, Swept, Wait
from bot.store.sql import house, outbox, rounds
from bot.store.sql.candidates import Reader
from bot.store.sql.records import to_ms
from bot.store.sql.unit import Row, Unit, Values

INSERT = """
INSERT INTO round_rows (dealer, round, person, tub, place_in, language, place, state, why, at, due)
VALUES (:dealer, :round, :person, :tub, :place_in, :language, :place, :state, :why, :at, :due)
ON CONFLICT (dealer, round, person) DO NOTHING
"""
TUB_IS_IN = """
SELECT 1 FROM round_rows WHERE dealer = :dealer AND round = :round AND tub = :tub AND state = 'waiting' LIMIT 1
"""
SEEN = "UPDATE rounds SET seen = :seen, state = :state, chosen = :chosen WHERE dealer = :dealer AND key = :round"
# `why` is empty for what waits, so that the index gives the rows in the order of their times.
TURN = """
SELECT * FROM round_rows
WHERE dealer = :dealer AND round = :round AND state = 'waiting' AND why = '' AND at <= :now
ORDER BY at, number LIMIT :limit
"""
PUT_OFF = "UPDATE round_rows SET at = :at WHERE number = :number AND state = 'waiting'"
BECOMES = "UPDATE round_rows SET state = :state, why = :why, at = :at WHERE number = :number AND state = 'waiting'"


def choose(db: Unit, dealer: str, key: str, now: int, limit: int, take: Choose) -> bool:
    """Look at the next owners; True once all were looked at."""
    db.lock("rounds", [(dealer, key)])
    row = db.execute(rounds.ONE, {"dealer": dealer, "key": key}).fetchone()
    if row is None or row["state"] != "choosing":
        return True
    wanted = rounds.round_from(row)
    people, candidates = Reader(db, dealer, key, wanted.whom.looks_at).page(row["seen"], limit)
    count = row["chosen"]
    for candidate in candidates:
        chosen = take(candidate)
        if chosen is not None and not _tub_is_in(db, wanted, candidate):
            count += db.execute(INSERT, _values(wanted, candidate, chosen, count, now)).rowcount
    seen = people[-1]["key"] if people else row["seen"]
    done = len(people) < limit
    state = "chosen" if done else "choosing"
    db.execute(SEEN, {"dealer": dealer, "round": key, "seen": seen, "state": state, "chosen": count})
    if done:
        rounds.wake(db, wanted, now)
    return done


def _tub_is_in(db: Unit, wanted: Round, candidate: Candidate) -> bool:
    """Whether somebody else of the tub gets the message already, where each tub gets it once."""
    if wanted.per == "person" or candidate.tub is None:
        return False
    values = {"dealer": wanted.dealer, "round": wanted.key, "tub": candidate.tub.key}
    return db.execute(TUB_IS_IN, values).fetchone() is not None


def _values(wanted: Round, candidate: Candidate, chosen: Chosen, place: int, now: int) -> Values:
    person = candidate.person
    return {
        "dealer": wanted.dealer,
        "round": wanted.key,
        "person": person.key,
        "tub": candidate.tub.key if candidate.tub else None,
        "place_in": place,
        "language": person.language,
        "place": f"{person.zone} {person.quiet.start.isoformat()} {person.quiet.end.isoformat()}",
        "state": "left_out" if chosen.left_out else "waiting",
        "why": chosen.left_out or "",
        "at": now if chosen.left_out else 0,
        "due": chosen.due.isoformat() if chosen.due else None,
    }


def sweep(db: Unit, dealer: str, key: str, now: int, limit: int, decide: Decide) -> Swept:
    """Do with each of the next people whose turn has come what `decide` says."""
    db.lock("rounds", [(dealer, key)])
    row = db.execute(rounds.ONE, {"dealer": dealer, "key": key}).fetchone()
    if row is None or row["state"] != "running":
        return Swept(0, 0)
    wanted = rounds.round_from(row)
    turn = db.execute(TURN, {"dealer": dealer, "round": key, "now": now, "limit": limit}).fetchall()
    people: list[tuple[Row, Person]] = []
    for one in turn:
        person = house.person_named(db, dealer, one["person"])
        if person is not None:
            people.append((one, person))
    addresses = [person.address for _, person in people if person.address is not None]
    db.lock("outbox", [(dealer, address.channel, address.chat) for address in addresses])
    pairs = [
        (person, house.tub_named(db, dealer, one["tub"]), rounds.due_of(one), one["place_in"] / row["chosen"])
        for one, person in people
    ]
    candidates = Reader(db, dealer, key, wanted.whom.looks_at).of(pairs)
    put = sum(
        _settle(db, one["number"], candidate, decide, dealer, now)
        for (one, _), candidate in zip(people, candidates, strict=True)
    )
    return Swept(len(turn), put)


def _settle(db: Unit, number: int, candidate: Candidate, decide: Decide, dealer: str, now: int) -> int:
    """Carry out what was decided for one person; 1 where a message went into the outbox."""
    match decide(candidate):
        case Wait(until):
            db.execute(PUT_OFF, {"number": number, "at": max(to_ms(until), now + 1)})
        case Skip(why):
            db.execute(BECOMES, {"number": number, "state": "left_out", "why": why, "at": now})
        case Put(message) if candidate.person.address is not None:
            db.execute(BECOMES, {"number": number, "state": "queued", "why": "", "at": now})
            outbox.append(db, dealer, candidate.person.address, message, now)
            return 1
        case Put():
            db.execute(BECOMES, {"number": number, "state": "left_out", "why": "no_chat", "at": now})
    return 0

"""Looking up what a conversation asked for: people by name, cases past and present."""

from collections.abc import Iterable
from typing import Literal

from bot.model.person import Person
from bot.model.sought import Found, Seek
from bot.model.trail import Acted
from bot.model.tub import Tub
from bot.store.contract import Contradiction
from bot.store.sql import house, journal
from bot.store.sql.records import entry_from, person_from, to_ms
from bot.store.sql.unit import Unit

TEAM = """
SELECT * FROM people INDEXED BY people_staff
WHERE dealer = :dealer AND role <> 'owner' AND role <> 'group' AND standing <> 'erased'
ORDER BY key
"""
OWNERS = "SELECT * FROM people WHERE dealer = :dealer AND role = 'owner' AND standing <> 'erased' ORDER BY key"
# The newest, where there are more than anybody reads.
CASES = """
SELECT * FROM journal
WHERE dealer = :dealer AND at >= :since AND kind IN (
    'case', 'case_said', 'case_note', 'cleared', 'taken', 'given_back', 'reopened', 'case_helped',
    'plan_sent', 'test_wanted')
ORDER BY at DESC, number DESC
LIMIT :most
"""
TRAIL = """
SELECT * FROM journal
WHERE dealer = :dealer AND at >= :since AND kind IN (
    'acted', 'brought', 'invites', 'round_order', 'household', 'case', 'taken', 'given_back', 'cleared', 'reopened',
    'plan_sent', 'doses_held')
ORDER BY at DESC, number DESC
LIMIT :most
"""
MOST_ENTRIES = 20_000
MOST_OWNERS = 50


def look_up(db: Unit, dealer: str, seek: Seek) -> Found:
    """What a step asked for."""
    match seek.what:
        case "team":
            rows = db.execute(TEAM, {"dealer": dealer}).fetchall()
            return Found(what="team", people=tuple(map(person_from, rows)))
        case "owners":
            return _owners(db, dealer, seek.words)
        case "owner":
            return _owner(db, dealer, seek.words)
        case "cases":
            return _since(db, dealer, seek, CASES)
        case "trail":
            return _since(db, dealer, seek, TRAIL)
        case "tub":
            raise Contradiction("what is known around a tub is read with `known`")


def _owners(db: Unit, dealer: str, words: str) -> Found:
    said = words.casefold()
    everybody = map(person_from, db.execute(OWNERS, {"dealer": dealer}).fetchall())
    people = [person for person in everybody if said in person.name.casefold()][:MOST_OWNERS]
    tubs = {person.key: tub for person in people if (tub := house.newest_tub(db, dealer, person.key))}
    links = tuple((person, tub.key) for person, tub in tubs.items())
    return Found(what="owners", people=tuple(people), tubs=_once(tubs.values()), links=links)


def _owner(db: Unit, dealer: str, key: str) -> Found:
    person = house.person_named(db, dealer, key)
    if person is None or person.role != "owner" or person.standing == "erased":
        return Found(what="owner")
    tubs = house.tubs_of(db, dealer, key)
    if not tubs:
        return Found(what="owner", people=(person,), entries=journal.around(db, dealer, None, key))
    tub = tubs[0]
    others = (one for one in house.household(db, dealer, tub.key) if one.key != key)
    return Found(
        what="owner",
        people=(person, *others),
        tubs=tubs,
        links=((key, tub.key),),
        entries=journal.around(db, dealer, tub.key, key),
    )


def _since(db: Unit, dealer: str, seek: Seek, sql: str) -> Found:
    what: Literal["cases", "trail"] = "trail" if seek.what == "trail" else "cases"
    since = 0 if seek.since is None else to_ms(seek.since)
    rows = db.execute(sql, {"dealer": dealer, "since": since, "most": MOST_ENTRIES}).fetchall()
    entries = tuple(map(entry_from, reversed(rows)))
    about = [key for entry in entries if isinstance(entry.fact, Acted) for key in entry.fact.about]
    named = dict.fromkeys([*(entry.person for entry in entries if entry.person), *about])
    people: list[Person] = [one for key in named if (one := house.person_named(db, dealer, key))]
    keys = dict.fromkeys([*(entry.tub for entry in entries if entry.tub), *about])
    tubs = [tub for key in keys if (tub := house.tub_named(db, dealer, key))]
    living = tuple(person for person in people if person.standing != "erased")
    return Found(what=what, people=living, tubs=tuple(tubs), entries=entries)


def _once(tubs: Iterable[Tub]) -> tuple[Tub, ...]:
    return tuple({tub.key: tub for tub in tubs}.values())

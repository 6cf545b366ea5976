"""Duplicates of a whole house: found, made one, or said to be different."""

from datetime import datetime

from pydantic import JsonValue

from bot.desk.duplicates import Entry as Listed
from bot.desk.duplicates import Pair, duplicates, one_person, one_tub
from bot.model.fact import Entry
from bot.model.trail import Acted
from bot.run.paged import pages
from bot.store.contract import Conflict, Store

DIFFERENT = "duplicates.different"
"""Under this name it is remembered who was said not to be the same."""


async def find(store: Store, dealer: str) -> list[Pair]:
    """Everybody and every tub that may be in the books twice."""
    books: list[Listed] = []
    async for page in pages(store.owners, dealer):
        books += [Listed(one.person, one.tubs) for one in page if one.person.standing != "erased"]
    return duplicates(books, await _different(store, dealer))


async def keep_apart(store: Store, dealer: str, pair: Pair) -> None:
    """Remember that these two are not the same."""
    known: list[JsonValue] = [*sorted({*(await _different(store, dealer)), pair.name})]
    await store.remember(dealer, DIFFERENT, known)


async def _different(store: Store, dealer: str) -> list[str]:
    kept = await store.memory(dealer, DIFFERENT)
    return [str(name) for name in kept] if isinstance(kept, list) else []


async def make_one(
    store: Store, dealer: str, pair: Pair, now: datetime, *, tubs: bool, by: str | None, via: str
) -> bool:
    """Make a pair one, and its tubs where they are; False where something of them has changed meanwhile."""
    keep, drop = pair.keep.person, pair.drop.person
    people = None if keep.key == drop.key else (keep, drop, one_person(keep, drop))
    two = pair.tubs if tubs else None
    about = (*((keep.key, drop.key) if people else ()), *(tub.key for tub in two or ()))
    fact = Acted(what="merged", about=about)
    key = f"merged:{now.timestamp():.3f}:{':'.join(about)}"
    entry = Entry(key=key, dealer=dealer, tub=None, person=by, at=now, via=via, fact=fact)
    try:
        await store.merge(dealer, people, (*two, one_tub(*two)) if two else None, [entry])
    except Conflict:
        return False
    return True

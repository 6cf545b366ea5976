"""Bringing a dealer's sheet into the store: read the books, compare, write in slices."""

import asyncio
import hashlib
from collections.abc import Callable
from dataclasses import dataclass, replace
from datetime import datetime

from bot.desk.intake.bringing import Bringing, Change, audit, bring
from bot.desk.intake.columns import find_head
from bot.desk.intake.opening import open_table
from bot.desk.intake.register import Books
from bot.desk.intake.sheet import Choices, Sheet, read_sheet
from bot.desk.intake.table import Table
from bot.model.dealer import Dealer
from bot.model.fact import Entry
from bot.model.trail import OwnersBrought
from bot.run.paged import pages
from bot.store.contract import Conflict, Store

SLICE = 500
"""Owners written in one transaction: others' writes come between."""
TRIES = 5


@dataclass(frozen=True, slots=True)
class Looked:
    """A sheet compared with the books."""

    table: Table
    """How it had to be read, without its rows: a list is long."""
    sheet: Sheet
    """How it was understood, without its owners."""
    bringing: Bringing
    digest: str
    rows: int
    remembered: bool
    """Whether how to read it was remembered from an earlier sheet of the same form."""


async def books_of(store: Store, dealer: str) -> Books:
    """Everybody who is in the books."""
    books = Books()
    async for page in pages(store.owners, dealer):
        for owned in page:
            books.add(owned.person, owned.tubs)
    return books


async def look(store: Store, dealer: Dealer, content: bytes, choices: Choices, now: datetime) -> Looked:
    """Read a sheet and say what it would change; changes nothing. Raises Unreadable."""
    country = choices.country or dealer.home
    told = choices
    table = await asyncio.to_thread(
        lambda: open_table(content, country=country, encoding=told.encoding, sheet=told.sheet)
    )
    books = await books_of(store, dealer.key)
    choices, remembered = await _with_memory(store, dealer, table, choices)
    return await asyncio.to_thread(_compared, table, choices, books, dealer, content, now, remembered=remembered)


def _compared(
    table: Table, choices: Choices, books: Books, dealer: Dealer, content: bytes, now: datetime, *, remembered: bool
) -> Looked:
    """The pure part, which takes seconds where a list is long."""
    aliases = {alias: model.name for model in dealer.models for alias in model.aliases}
    choices = choices.model_copy(update={"models": {**aliases, **choices.models}})
    known = [*(model.name for model in dealer.models), *books.models()]
    sheet = read_sheet(table, choices, now.date(), known)
    digest = hashlib.sha256(content).hexdigest()
    bringing = bring(sheet, books, dealer, digest, "us" if choices.country == "US" else "metric")
    rows = len(sheet.owners) + len(sheet.rejected)
    return Looked(replace(table, rows=()), replace(sheet, owners=()), bringing, digest, rows, remembered)


async def _with_memory(store: Store, dealer: Dealer, table: Table, choices: Choices) -> tuple[Choices, bool]:
    """What was said earlier of a sheet with these titles, and of models; what is said now comes first."""
    form = await store.memory(dealer.key, _form(find_head(table).signature))
    models = await store.memory(dealer.key, "models")
    earlier = Choices.model_validate(form) if form else Choices()
    known = {str(name): str(meant) for name, meant in models.items()} if isinstance(models, dict) else {}
    merged = choices.model_copy(
        update={
            "columns": {**earlier.columns, **choices.columns},
            "unit": choices.unit or earlier.unit,
            "dates": choices.dates or earlier.dates,
            "country": choices.country or earlier.country or dealer.home,
            "models": {**known, **choices.models},
        }
    )
    return merged, form is not None


def _form(signature: str) -> str:
    return "sheet." + hashlib.sha256(signature.encode()).hexdigest()[:16]


async def remember(store: Store, dealer: Dealer, looked: Looked, choices: Choices) -> None:
    """Keep how this sheet was understood, for the next one with the same titles."""
    kept = Choices(columns=choices.columns, unit=choices.unit, dates=choices.dates, country=choices.country)
    name = _form(looked.sheet.head.signature)
    if kept != Choices():
        await store.remember(dealer.key, name, kept.model_dump(mode="json"))
    if choices.models:
        models = await store.memory(dealer.key, "models")
        await store.remember(dealer.key, "models", {**(models if isinstance(models, dict) else {}), **choices.models})


async def bring_in(
    store: Store,
    dealer: Dealer,
    content: bytes,
    choices: Choices,
    now: datetime,
    *,
    by: str | None,
    via: str,
    file: str,
    on_slice: Callable[[int, int], None] = lambda _done, _all: None,
) -> Looked:
    """Bring a sheet in. Whoever changes the books meanwhile is noticed, and the rest is compared again."""
    looked = await look(store, dealer, content, choices, now)
    await remember(store, dealer, looked, choices)
    first, left, tries = looked, looked.bringing.changes, 0
    done = 0
    while left:
        part, left = left[:SLICE], left[SLICE:]
        try:
            await _write(store, dealer, part, looked.digest, by, via, now)
        except Conflict:
            tries += 1
            if tries >= TRIES:
                raise
            looked = await look(store, dealer, content, choices, now)
            left = looked.bringing.changes
            continue
        done += len(part)
        on_slice(done, done + len(left))
    await store.write([_entry(first, dealer, by, via, file, now)])
    return first


async def _write(
    store: Store, dealer: Dealer, part: list[Change], digest: str, by: str | None, via: str, now: datetime
) -> None:
    people = {change.person[1].key: change.person for change in reversed(part)}
    ends = {change.person[1].key: change.person[1] for change in part}
    tubs = {change.tub[1].key: change.tub for change in reversed(part)}
    tub_ends = {change.tub[1].key: change.tub[1] for change in part}
    await store.bring_in(
        dealer.key,
        [(people[key][0], ends[key]) for key in people],
        [(tubs[key][0], tub_ends[key]) for key in tubs],
        [(change.person[1].key, change.tub[1].key) for change in part if change.linked],
        audit(part, dealer.key, digest, by, via, now),
    )


def _entry(looked: Looked, dealer: Dealer, by: str | None, via: str, file: str, now: datetime) -> Entry:
    bringing = looked.bringing
    weights = [remark.weight for remark in bringing.remarks]
    fact = OwnersBrought(
        file=file[-120:],
        digest=looked.digest,
        new=bringing.count("new"),
        changed=bringing.count("changed"),
        same=bringing.same,
        review=len({remark.line for remark in bringing.remarks if remark.weight == "review"}),
        rejected=weights.count("reject"),
    )
    key = f"brought:{looked.digest[:16]}:{now.timestamp():.3f}"
    return Entry(key=key, dealer=dealer.key, tub=None, person=by, at=now, via=via, fact=fact)

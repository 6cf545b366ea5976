"""The clerk's job around figures, and what it counts by."""

from datetime import datetime

from pydantic import JsonValue

from bot.desk.figures import MONTH, Figures, Tally, drawing, figures_csv, told
from bot.model.dealer import Dealer
from bot.model.enclosure import Sheet
from bot.model.message import Message
from bot.model.sought import Seek
from bot.run.clerk import Desk, Job
from bot.run.paged import pages
from bot.store.contract import Store
from bot.talk.words import Words, line


async def count(store: Store, dealer: Dealer, now: datetime) -> Figures:
    """The figures of a house."""
    tally = Tally(dealer, now)
    async for page in pages(store.sights, dealer.key):
        tally.add(page)
    found = await store.look_up(dealer.key, Seek(what="cases", since=now - 12 * MONTH))
    return tally.figures(await store.rounds(dealer.key), found.entries)


async def send(desk: Desk) -> JsonValue:
    """Send the figures in words with their picture, and as a table."""
    made = await count(desk.store, desk.dealer, desk.now)
    words = Words.of(desk.person)
    table = Sheet(name="figures.csv", content=figures_csv(made, words).decode("utf-8-sig"))
    unmade = words.text(line("enclosure.unmade"))
    messages = [
        Message(to=desk.person.key, text=words.text(told(made)), enclosure=drawing(made, words), unmade=unmade),
        Message(to=desk.person.key, text=words.text(line("house.table")), enclosure=table, unmade=unmade),
    ]
    await desk.store.post(desk.dealer.key, messages, desk.now)
    return True


JOBS: dict[str, Job] = {"figures.send": send}

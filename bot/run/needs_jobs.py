"""The clerk's job around product needs, and what it looks at."""

from datetime import datetime

from pydantic import JsonValue

from bot.desk.needs import Gathering, Need, needs_csv, told
from bot.model.dealer import Dealer
from bot.model.enclosure import Made
from bot.model.message import Message
from bot.run.clerk import FAILED, Desk, Job, hand_over
from bot.run.paged import pages
from bot.store.contract import Store
from bot.talk.words import Words


async def look(store: Store, dealer: Dealer, now: datetime, weeks: int) -> list[Need]:
    """Who needs what within so many weeks."""
    gathering = Gathering(dealer, now, weeks)
    if any(product.pack_g for product in dealer.kit.products):
        async for page in pages(store.poured, dealer.key):
            gathering.add(page)
    return gathering.needs()


async def send(desk: Desk) -> JsonValue:
    """Send the packs in words, and the names as a table that is kept nowhere."""
    weeks, words = desk.dealer.supplies.weeks, Words.of(desk.person)
    needs = await look(desk.store, desk.dealer, desk.now, weeks)
    text = words.text(told(needs, desk.dealer, weeks))
    if needs:
        made = Made(form="document", name="needs.csv", content=needs_csv(needs, words))
        return True if await hand_over(desk, text, made) else FAILED
    await desk.store.post(desk.dealer.key, [Message(to=desk.person.key, text=text)], desk.now)
    return True


JOBS: dict[str, Job] = {"needs.send": send}

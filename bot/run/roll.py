"""The whole of a dealer's owners, looked at a page at a time: who needs somebody."""

from datetime import datetime

from bot.desk.attention import Needs, in_order, needing
from bot.desk.leaving import csv_of
from bot.model.dealer import Dealer
from bot.model.sight import Sight
from bot.run.paged import pages
from bot.store.contract import Store
from bot.talk.words import Words, line


async def who_needs(store: Store, dealer: Dealer, now: datetime) -> list[Needs]:
    """Those with whom something is the matter, the gravest first."""
    found: list[Needs] = []
    async for page in pages(store.sights, dealer.key):
        found += [one.slim() for one in needing(page, dealer, now)]
    return in_order(found, now)


def needing_csv(found: list[Needs], words: Words) -> bytes:
    """A row for each matter: name, phone, e-mail, model, serial number, what it is and since which day."""
    fields = ("name", "phone", "email", "model", "serial")
    titles = [
        *(words.text(line(f"intake.field.{name}")) for name in fields),
        *(words.text(line(f"attention.title.{name}")) for name in ("matter", "since")),
    ]
    rows = (
        (*_about(one.sight), words.text(line(f"attention.matter.{matter}")), since.date() if since else None)
        for one in found
        for matter, since in one.matters.items()
    )
    return csv_of(titles, rows)


def _about(sight: Sight) -> tuple[str, str, str, str, str]:
    person, tub = sight.person, sight.tub
    return (
        person.name,
        person.phones[0] if person.phones else "",
        person.email,
        (tub.model if tub else None) or "",
        (tub.serial if tub else None) or "",
    )

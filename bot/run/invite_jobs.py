"""The clerk's jobs around invites. Cards go straight to whoever asked: a link is never stored."""

import asyncio

from pydantic import JsonValue

from bot.desk.invites import DAYS, Waiting
from bot.desk.leaving import csv_of
from bot.model.enclosure import Made
from bot.pictures.cards import cards_pdf
from bot.run.clerk import Desk, Job, hand_over
from bot.run.invites import card_of, issue, not_joined, withdraw
from bot.talk.words import Words, line

AT_ONCE = 400
"""Cards in one file: fifty pages."""
NAMED = 5


async def look(desk: Desk) -> JsonValue:
    """How many have not joined, and by which way they could."""
    waits = await not_joined(desk.store, desk.dealer.key, desk.now)
    ways = [one.way for one in waits]
    names: list[JsonValue] = [one.person.name for one in waits if one.person.name]
    return {
        "count": len(waits),
        "open": ways.count("open"),
        "expired": ways.count("expired"),
        "none": ways.count("none"),
        "names": names[:NAMED],
    }


async def cards(desk: Desk) -> JsonValue:
    """Make invites and send them as cards; those that could not be sent are withdrawn again."""
    waits = await not_joined(desk.store, desk.dealer.key, desk.now)
    wanted = waits if desk.errand.args.get("whom") == "all" else [one for one in waits if one.way != "open"]
    address = desk.person.address
    if not wanted or address is None:
        return {"sent": 0, "left": len(wanted)}
    part = wanted[:AT_ONCE]
    by, via = desk.person.key, address.channel
    made = await issue(desk.store, desk.dealer.key, part, desk.now, days=DAYS, by=by, via=via)
    channel = desk.channels[via]
    printed = [card_of(one, desk.dealer, channel.link) for one in made]
    pdf = await asyncio.to_thread(cards_pdf, printed)
    text = Words.of(desk.person).text(line("invites.here", count=len(printed)))
    if await hand_over(desk, text, Made(form="document", name="cards.pdf", content=pdf)):
        return {"sent": len(printed), "left": len(wanted) - len(printed)}
    again = await not_joined(desk.store, desk.dealer.key, desk.now)
    keys = {one.person.key for one in part}
    unsent = [one for one in again if one.person.key in keys]
    await withdraw(desk.store, desk.dealer.key, unsent, desk.now, by=by, via=via)
    return {"sent": 0, "left": len(wanted)}


async def send_list(desk: Desk) -> JsonValue:
    """Send who has not joined as a table."""
    waits = await not_joined(desk.store, desk.dealer.key, desk.now)
    words = Words.of(desk.person)
    made = Made(form="document", name="not-joined.csv", content=waiting_csv(waits, words))
    return await hand_over(desk, words.text(line("invites.list_here")), made)


async def take_back(desk: Desk) -> JsonValue:
    """Withdraw every invite that is open."""
    waits = await not_joined(desk.store, desk.dealer.key, desk.now)
    via = desk.person.address.channel if desk.person.address else ""
    open_ones = [one for one in waits if one.way == "open"]
    return await withdraw(desk.store, desk.dealer.key, open_ones, desk.now, by=desk.person.key, via=via)


def waiting_csv(waits: list[Waiting], words: Words) -> bytes:
    """Who has not joined: name, phones, e-mail, model, delivery day, and the state of their invite."""
    fields = ("name", "phone", "email", "model", "delivered")
    titles = [*(words.text(line(f"intake.field.{name}")) for name in fields), words.text(line("invites.title.invite"))]
    rows = (
        (
            one.person.name,
            one.person.phones[0] if one.person.phones else "",
            one.person.email,
            one.tub.model if one.tub else "",
            one.tub.delivered if one.tub else None,
            words.text(line(f"invites.way.{one.way}")),
        )
        for one in waits
    )
    return csv_of(titles, rows)


JOBS: dict[str, Job] = {
    "invites.look": look,
    "invites.cards": cards,
    "invites.list": send_list,
    "invites.withdraw": take_back,
}

"""The clerk's jobs around who needs somebody. Between looking and showing, keys alone are remembered."""

from collections.abc import Sequence
from datetime import datetime

from pydantic import JsonValue

from bot.desk.attention import MATTERS, Needs, counts
from bot.model.enclosure import Made
from bot.model.message import Button, Message
from bot.run.clerk import FAILED, Desk, Job, hand_over
from bot.run.roll import needing_csv, who_needs
from bot.talk.buttons import PersonButton, encode
from bot.talk.card import cut
from bot.talk.names import LABEL
from bot.talk.words import Line, Words, line, lines, verbatim

PAGE = 8
SHOWN_LAST, NEXT = "shown_last", "next"
"""Of which matter names were shown last, and which come next."""
MOST = 400
"""Owners remembered for each matter; the table has all."""


async def look(desk: Desk) -> JsonValue:
    """How many need somebody, and for what."""
    found = await who_needs(desk.store, desk.dealer, desk.now)
    await desk.store.remember(desk.dealer.key, _name(desk), {matter: _keys(found, matter) for matter in MATTERS})
    people = len({one.sight.person.key for one in found})
    return {"people": people, "counts": {str(matter): number for matter, number in counts(found).items()}}


def _keys(found: Sequence[Needs], matter: str) -> JsonValue:
    """Who, and since when, whoever waits longest first."""
    mine = [(one.sight.person.key, since) for one in found for what, since in one.matters.items() if what == matter]
    mine.sort(key=lambda one: (one[1] is None, one[1].timestamp() if one[1] else 0.0, one[0]))
    return [[key, since.isoformat() if since else None] for key, since in mine[:MOST]]


def _name(desk: Desk) -> str:
    return f"attention.{desk.person.key}"


async def show(desk: Desk) -> JsonValue:
    """Send names of a matter as a message, each a button to the owner's card; without one, those that come next."""
    kept = await desk.store.memory(desk.dealer.key, _name(desk))
    if not isinstance(kept, dict):
        return FAILED
    asked = desk.errand.args.get("matter")
    matter, start = (asked, 0) if asked else (kept.get(SHOWN_LAST, ""), kept.get(NEXT, 0))
    rows = kept.get(str(matter))
    if not isinstance(rows, list) or not isinstance(start, int):
        return FAILED
    words = Words.of(desk.person)
    told: list[Line] = []
    buttons: list[Button] = []
    for row in rows[start : start + PAGE]:
        assert isinstance(row, list)
        person = await desk.store.person(desk.dealer.key, str(row[0]))
        if person is None or person.standing == "erased":
            continue
        name = person.name or words.text(line("attention.no_name"))
        since = datetime.fromisoformat(str(row[1])) if row[1] else None
        day = since.astimezone(words.zone).date() if since else None
        told.append(line("attention.since", name=name, day=day) if day else verbatim(name))
        buttons.append(Button(label=cut(name, LABEL), data=encode(PersonButton(person.key, "card"))))
    if told:
        text = words.text(lines(line("attention.these", matter=line(f"attention.matter.{matter}")), *told, gap="\n"))
        pairs = tuple(tuple(buttons[at : at + 2]) for at in range(0, len(buttons), 2))
        await desk.store.post(desk.dealer.key, [Message(to=desk.person.key, text=text, buttons=pairs)], desk.now)
    await desk.store.remember(desk.dealer.key, _name(desk), {**kept, SHOWN_LAST: matter, NEXT: start + PAGE})
    return {"left": max(0, len(rows) - start - PAGE)}


async def send_list(desk: Desk) -> JsonValue:
    """Send everybody who needs somebody as a table."""
    words = Words.of(desk.person)
    table = needing_csv(await who_needs(desk.store, desk.dealer, desk.now), words)
    made = Made(form="document", name="attention.csv", content=table)
    return await hand_over(desk, words.text(line("attention.list_here")), made)


JOBS: dict[str, Job] = {"attention.look": look, "attention.show": show, "attention.list": send_list}

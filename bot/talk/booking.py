"""What an owner told a technician that went into the water: booked in the tub's journal with one tap."""

from datetime import datetime

from bot.model.fact import Added, CaseSaid, Entry
from bot.model.zones import zone
from bot.schedule.journal import facts
from bot.talk import card, handling
from bot.talk.amounts import mass
from bot.talk.card import Story
from bot.talk.draft import Draft
from bot.talk.flows.dose_guard import told_additions
from bot.talk.names import product_name
from bot.talk.words import line
from dosing import Product


def book(draft: Draft, name: str, action: str) -> None:
    """Book the additions of what the owner said; `action` is `book` and its place among all that was said."""
    story = handling.story_named(draft, name)
    if story is None:
        draft.say(line("case.closed_already", case=name))
        return
    holder = story.holder(draft.known.staff)
    if holder != draft.person:
        draft.say(
            line("case.take_first"), handling.labelled(draft, card.over(story) if holder else card.offered(story))
        )
        return
    entry = _said(story, action.removeprefix("book"))
    if entry is None or story.tub is None:
        draft.say(line("talk.old_button"))
        return
    mark = f"said.{name}.{action.removeprefix('book')}"
    if facts(story.journal, Added, lambda fact: fact.step == mark):
        draft.say(line("case.booked_already", name=story.name))
        return
    found = _additions(draft, story, entry)
    for product, grams, at in found:
        substances = product.split(grams) if grams else {}
        draft.record(
            Added(product=product.key, grams=grams, substances=substances, step=mark), at=at, tub=story.tub.key
        )
    if not found:
        draft.say(line("case.booked_nothing", name=story.name))
        return
    units = draft.person.units if draft.person else "metric"
    told = tuple(
        line("case.dose", product=product_name(product.key), amount=mass(grams, units))
        if grams
        else product_name(product.key)
        for product, grams, _ in found
    )
    draft.say(line("case.booked", name=story.name, what=told))
    if story.owner and story.reachable:
        draft.tell(story.owner, line("case.booked_for_you", what=told), lane="reply")


def _said(story: Story, place: str) -> Entry | None:
    said = [entry for entry, fact in facts(story.journal, CaseSaid) if fact.case == story.fact.case]
    entry = said[int(place)] if place.isascii() and place.isdigit() and int(place) < len(said) else None
    return entry if entry and isinstance(entry.fact, CaseSaid) and entry.fact.side == "owner" else None


def _additions(draft: Draft, story: Story, entry: Entry) -> list[tuple[Product, float | None, datetime]]:
    """What was told, with its time in the owner's zone."""
    assert isinstance(entry.fact, CaseSaid)
    assert story.tub
    told_at = entry.at.astimezone(zone(story.owner.zone if story.owner else draft.known.dealer.zone))
    return told_additions(entry.fact.text, story.tub.kit or draft.known.dealer.kit, told_at)

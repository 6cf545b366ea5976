"""Updates that are damaged in any way: none is lost, none stops the others."""

import copy
import random
from typing import Any

import pytest

from bot.channels.telegram import TelegramChannel
from bot.model.event import Wrote
from tests.botapi import BotApi
from tests.telegram.desk import Desk

JUNK: list[Any] = [None, True, -1, 10**20, 0.5, "", "\ud800", "x" * 5000, [], {}, [[]], {"id": {}}, "2027-03-01"]


@pytest.mark.parametrize("seed", range(5))
async def test_damaged_updates_stop_nothing(api: BotApi, channel: TelegramChannel, desk: Desk, seed: int) -> None:
    chance = random.Random(seed)
    whole = samples()
    with api.bell.lock:
        for _ in range(60):
            api.happens_raw(damaged(chance.choice(whole), chance))
        api.person("Ada").writes("still here?")
    await api.until(lambda: not api.ledger.unconfirmed())
    assert Wrote(text="still here?") in desk.events
    parked = [arrival for arrival in desk.arrivals if arrival.event is None]
    assert parked
    assert all(arrival.raw for arrival in parked)


def samples() -> list[dict[str, Any]]:
    """One whole update of each kind, without its number."""
    api = BotApi()
    ada = api.person("Ada", username="ada", language_code="en")
    edited = ada.writes("74")
    ada.edits(edited, "7.4")
    ada.starts("invite")
    ada.sends_photo(caption="look", album="5")
    ada.sends_file("document", "log.csv")
    ada.sends_location(1.5, 2.5)
    ada.sends_contact("+1", "Bo")
    ada.writes("forwarded", forwarded_from="Somebody")
    message = api.put(ada.chat, {"text": "Which?"}, api.me).message
    ada.presses_data("done", message)
    ada.blocks()
    return [{key: value for key, value in update.items() if key != "update_id"} for update in api.ledger.made.values()]


def damaged(update: dict[str, Any], chance: random.Random) -> dict[str, Any]:
    """The update with one to three places dropped or replaced by junk."""
    update = copy.deepcopy(update)
    for _ in range(chance.randint(1, 3)):
        places = list(_places(update))
        holder, key = chance.choice(places)
        if chance.random() < 0.3 and isinstance(holder, dict):
            del holder[key]
        else:
            holder[key] = copy.deepcopy(chance.choice(JUNK))
        if not update:
            break
    return update


def _places(tree: Any) -> Any:
    """Every (holder, key) in a JSON value."""
    entries = tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ()
    for key, value in entries:
        yield tree, key
        yield from _places(value)

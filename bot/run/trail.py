"""The trail of who did what: written from outside a conversation, and read."""

from datetime import datetime

from bot.model.fact import Entry
from bot.model.trail import Acted
from bot.store.contract import Store


async def note(
    store: Store, dealer: str, fact: Acted, now: datetime, *, by: str | None = None, via: str = "command"
) -> None:
    """Write down what was done: by whom (nobody: from the command line), about whom."""
    key = f"acted:{fact.what}:{now.timestamp():.6f}:{':'.join(fact.about)}"
    await store.write([Entry(key=key[:200], dealer=dealer, tub=None, person=by, at=now, via=via, fact=fact)])

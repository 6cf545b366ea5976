"""The dealer and the open store that a command works on."""

from collections.abc import AsyncIterator
from contextlib import asynccontextmanager

from bot.app import open_store
from bot.command.dealer import read_dealer
from bot.model.dealer import Dealer
from bot.settings import Settings
from bot.store.contract import Store


@asynccontextmanager
async def opened(settings: Settings) -> AsyncIterator[tuple[Store, Dealer]]:
    """The store, open as long as the context lasts, with the dealer of the settings in it. ValueError, StoreBroken."""
    dealer = read_dealer(settings.dealer)
    store = open_store(settings.database)
    await store.open()
    try:
        await store.put_dealer(dealer)
        yield store, dealer
    finally:
        await store.close()

"""All of a dealer's owners, a page at a time."""

import asyncio
from collections.abc import AsyncIterator, Awaitable
from typing import Protocol, TypeVar

from bot.model.person import Person

PAGE = 50
"""Owners at once, with their tubs and journals: nobody else is answered while they are read and looked at."""


class _OfPerson(Protocol):
    @property
    def person(self) -> Person:
        """Whom it is about."""


Row = TypeVar("Row", bound=_OfPerson)


class Read(Protocol[Row]):
    """A call of the store that gives owners in the order of their keys, none when there are no more."""

    def __call__(self, dealer: str, *, after: str, limit: int) -> Awaitable[list[Row]]:
        """The next `limit` owners behind the key `after`."""


async def pages(read: Read[Row], dealer: str, limit: int = PAGE) -> AsyncIterator[list[Row]]:
    """Page after page. Between two of them everybody else gets their turn: reading a file does not wait by itself."""
    after = ""
    while page := await read(dealer, after=after, limit=limit):
        yield page
        after = page[-1].person.key
        await asyncio.sleep(0)

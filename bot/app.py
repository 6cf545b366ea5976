"""The wiring: the one place that knows every room."""

import gc
import threading
from collections.abc import Mapping
from datetime import timedelta
from pathlib import Path

from bot.desk import attention_flow as _attention  # noqa: F401  (registers what the dealer can ask for)
from bot.desk import duplicates_flow as _duplicates  # noqa: F401  (registers what the dealer can ask for)
from bot.desk import figures_flow as _figures  # noqa: F401  (registers what the dealer can ask for)
from bot.desk import needs_flow as _needs  # noqa: F401  (registers what the dealer can ask for)
from bot.desk import trail_flow as _trail  # noqa: F401  (registers what the dealer can ask for)
from bot.desk.rounds import office as _rounds  # noqa: F401  (registers what the dealer can ask for)
from bot.run import (
    attention_jobs,
    duplicates_jobs,
    figures_jobs,
    household_jobs,
    intake_jobs,
    invite_jobs,
    needs_jobs,
    privacy_jobs,
    trail_jobs,
)
from bot.run.crowd import Crowd
from bot.run.house import House
from bot.run.pace import Pace
from bot.run.seat import Seats
from bot.store.contract import POSTGRES, Store
from bot.store.postgres import PostgresStore
from bot.store.sqlite import SqliteStore
from bot.talk import places
from bot.talk.step import apologise, step

JOBS = {
    **intake_jobs.JOBS,
    **invite_jobs.JOBS,
    **privacy_jobs.JOBS,
    **attention_jobs.JOBS,
    **figures_jobs.JOBS,
    **needs_jobs.JOBS,
    **household_jobs.JOBS,
    **duplicates_jobs.JOBS,
    **trail_jobs.JOBS,
}
"""What the clerk can do."""


def open_store(database: Path | str) -> SqliteStore | PostgresStore:
    """The store at that place, not opened yet: a path is an SQLite file, an address a PostgreSQL database."""
    if isinstance(database, str) and database.startswith(POSTGRES):
        return PostgresStore(database)
    return SqliteStore(database)


def warm_up() -> None:
    """Read on a thread of its own what takes seconds to read, so that nobody in a chat waits for it; then settle."""

    def learn() -> None:
        places.learn()
        settle()

    threading.Thread(target=learn, name="warming up", daemon=True).start()


def settle() -> None:
    """Take what was read at the start, which stays, out of every later collection: each would hold all chats up for
    some tenths of a second to look through it.
    """
    gc.collect()
    gc.freeze()


def build_house(
    store: Store,
    seats: Seats,
    *,
    workers: int = 1,
    every: timedelta = timedelta(seconds=5),
    paces: Mapping[str, Pace] | None = None,
    holder: str = "",
    crowd: Crowd | None = None,
) -> House:
    """Everything that moves, around one store and its channels. `every`: how often it is looked what is due; `crowd`:
    how often people are answered.
    """
    return House(
        store,
        seats,
        step,
        apologise,
        workers=workers,
        every=every,
        paces=paces,
        jobs=JOBS,
        holder=holder,
        crowd=crowd,
    )

"""The store on one SQLite file."""

from bot.store.sqlite.store import SqliteStore

__all__ = ["SqliteStore"]

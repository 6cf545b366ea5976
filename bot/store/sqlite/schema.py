"""The schema's steps as migrations of sqlite-utils, and how a file is known as ours."""

from sqlite_utils import Database, Migrations

from bot.store.sql.schema import STEPS, statements

APPLICATION = 0x4272696D
"""Marks a database file as ours (PRAGMA application_id): the letters Brim."""

MIGRATIONS = Migrations("brimful")


def _register(name: str, script: str) -> None:
    @MIGRATIONS(name=name)
    def step(db: Database) -> None:
        for statement in statements(script):
            db.execute(statement)


for _name, _script in STEPS.items():
    _register(_name, _script)


def known_names() -> list[str]:
    """The steps that this version knows, in order."""
    return list(STEPS)


def names_in(db: Database) -> list[str]:
    """The steps that a database has had, in order."""
    return [migration.name for migration in MIGRATIONS.applied(db)]

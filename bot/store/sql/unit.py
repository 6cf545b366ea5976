"""A unit of work: one transaction, as the statements see it.

The statements are written once, in what SQLite and PostgreSQL have in common: parameters as `:name`, `CASE` instead of
booleans as numbers, `ON CONFLICT`, `json_each(:list) AS name` for the values of a list. Where only one engine needs a
word, the other leaves it out: `INDEXED BY name` is for SQLite, and what stands in `/*pg ... */` is for PostgreSQL.
"""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, Literal, Protocol

Values = dict[str, Any]
"""What a statement is given, by name."""
Room = Literal["inbox", "books", "rounds", "outbox"]
"""What is locked, in the order in which locks are taken, so that no two units wait for each other."""


class Row(Protocol):
    """A row that was found."""

    def __getitem__(self, column: str, /) -> Any:  # noqa: ANN401 - a column holds what its schema says
        """The value in a column."""

    def keys(self) -> Iterable[str]:
        """The names of the columns."""


class Found(Protocol):
    """What a statement did."""

    @property
    def rowcount(self) -> int:
        """How many rows it changed."""

    def fetchone(self) -> Row | None:
        """The next row, or None."""

    def fetchall(self) -> Sequence[Row]:
        """Every row that is left."""


class Unit(Protocol):
    """One transaction."""

    def execute(self, sql: str, values: Mapping[str, Any] | None = None) -> Found:
        """Run one statement."""

    def lock(self, room: Room, names: Iterable[Sequence[str | None]]) -> None:
        """Wait until no other unit is at work on these things, until this one ends; names with None are left out.

        An engine on which only one unit writes at a time has nothing to do.
        """

"""Moving everything from one database into another, and checking row for row that it has arrived."""

import re
from collections.abc import Iterator
from typing import NamedTuple

from bot.store.contract import StoreBroken
from bot.store.sql.schema import STEPS
from bot.store.sql.unit import Unit, Values

AT_ONCE = 1000
_TABLE = re.compile(r"CREATE TABLE (\w+) \((.*?)\) STRICT\b", re.DOTALL)
_KEY = re.compile(r"^\s*(\w+) +\w+ PRIMARY KEY|PRIMARY KEY \(([\w, ]+)\)", re.MULTILINE)
ORDERED_BY_ROWID = frozenset({"dues"})
"""Tables whose rows have an order that no column of theirs holds."""


class Table(NamedTuple):
    """A table and the columns that tell its rows apart and order them."""

    name: str
    key: tuple[str, ...]


def tables() -> list[Table]:
    """Every table of the schema, those that others point at first."""
    return [_table(*found.groups()) for script in STEPS.values() for found in _TABLE.finditer(script)]


def move(source: Unit, target: Unit) -> dict[str, int]:
    """Copy every row into an empty database and read both again; returns how many rows each table has.

    StoreBroken where the target holds something already, or a row did not arrive as it was.
    """
    for table in tables():
        if next(rows_of(target, table), None) is not None:
            raise StoreBroken(f"the database to move into is not empty ({table.name}); give a new one")
    return {table.name: _copy(source, target, table) for table in tables()}


def _copy(source: Unit, target: Unit, table: Table) -> int:
    insert = ""
    for row in rows_of(source, table):
        insert = insert or _insert(table, row)
        target.execute(insert, row)
    if insert:
        _count_on(target, table)
    return _compare(source, target, table)


def _count_on(target: Unit, table: Table) -> None:
    """Numbers that the target gives from now on follow those that were moved; SQLite sees to that itself."""
    counted = {*table.key, "rowid"} if table.name in ORDERED_BY_ROWID else {*table.key}
    for column in counted & {"number", "rowid"}:
        last = f"(SELECT max({column}) FROM {table.name})"  # noqa: S608 - names of our own
        target.execute(f"SELECT 1 AS done /*pg , setval(pg_get_serial_sequence('{table.name}', '{column}'), {last}) */")


def _compare(source: Unit, target: Unit, table: Table) -> int:
    count = 0
    arrived = rows_of(target, table)
    for row in rows_of(source, table):
        if next(arrived, None) != row:
            raise StoreBroken(f"row {count + 1} of {table.name} did not arrive as it was; nothing was moved")
        count += 1
    if next(arrived, None) is not None:
        raise StoreBroken(f"{table.name} has more rows than were moved; nothing was moved")
    return count


def rows_of(unit: Unit, table: Table) -> Iterator[Values]:
    """The rows of a table in the order of its key, a bounded number in memory."""
    columns = ", ".join(table.key)
    what = f"SELECT {'rowid, ' if table.name in ORDERED_BY_ROWID else ''}* FROM {table.name}"  # noqa: S608 - our own
    order = f"ORDER BY {columns} LIMIT {AT_ONCE}"
    beyond = f"WHERE ({columns}) > ({', '.join(f':{name}' for name in table.key)})"
    page = unit.execute(f"{what} {order}").fetchall()
    while page:
        rows = [{name: row[name] for name in row.keys()} for row in page]  # noqa: SIM118 - a row is no mapping
        yield from rows
        last = {name: rows[-1][name] for name in table.key}
        page = unit.execute(f"{what} {beyond} {order}", last).fetchall()


def _insert(table: Table, row: Values) -> str:
    values = ", ".join(f":{name}" for name in row)
    return f"INSERT INTO {table.name} ({', '.join(row)}) VALUES ({values})"  # noqa: S608 - names of our own


def _table(name: str, columns: str) -> Table:
    found = _KEY.search(columns)
    if found is None:
        raise ValueError(f"table {name} has no primary key, so its rows cannot be told apart")
    return Table(name, tuple((found[1] or found[2]).split(", ")))

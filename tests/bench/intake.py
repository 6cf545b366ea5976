"""What bringing a long list in costs: reading it, comparing it with the books, writing, and the same list again.

`python -m tests.bench.intake` prints seconds, rows a second and the most memory that was held, for CSV and XLSX.
"""

import argparse
import asyncio
import io
import resource
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import date, timedelta
from pathlib import Path

from openpyxl import Workbook

from bot.desk.intake.opening import open_table
from bot.desk.intake.sheet import Choices, read_sheet
from bot.run.intake import bring_in, look
from bot.store.sqlite import SqliteStore
from tests.store.samples import NOON, NORTH

TITLES = ["Name", "Phone", "E-mail", "Serial", "Model", "Volume (l)", "Sanitizer", "Delivered", "Town", "Notes"]


def rows(count: int) -> Iterator[list[str]]:
    """So many owners, every one with a number, an address and a serial number of their own."""
    for n in range(count):
        day = date(2020, 1, 1) + timedelta(days=n % 2000)
        yield [
            f"Owner Number{n}",
            f"+47 4{n:07d}",
            f"owner{n}@example.com",
            f"S-{n:06d}",
            f"Model A{n % 12}",
            str(900 + n % 1000),
            "chlorine" if n % 3 else "bromine",
            f"{day:%d.%m.%Y}",
            f"Town {n % 300}",
            "gate on the left" if n % 10 == 0 else "",
        ]


def as_csv(count: int) -> bytes:
    """The list as a spreadsheet writes it."""
    return "\n".join(";".join(row) for row in [TITLES, *rows(count)]).encode("utf-8-sig")


def as_xlsx(count: int) -> bytes:
    """The same as a workbook."""
    book = Workbook(write_only=True)
    sheet = book.create_sheet("Owners")
    for row in [TITLES, *rows(count)]:
        sheet.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


async def seconds_of(content: bytes, folder: Path) -> dict[str, float]:
    """Seconds of each part."""
    found: dict[str, float] = {}

    def lap(name: str, began: float) -> float:
        found[name] = time.perf_counter() - began
        return time.perf_counter()

    now = time.perf_counter()
    table = open_table(content)
    now = lap("read the file", now)
    sheet = read_sheet(table, Choices(country="NO"), NOON.date())
    now = lap("understand the rows", now)
    count = len(sheet.owners)
    del table, sheet
    store = SqliteStore(folder / "bench.db")
    await store.open()
    await store.put_dealer(NORTH)
    now = time.perf_counter()
    looked = await bring_in(store, NORTH, content, Choices(), NOON, by=None, via="bench", file="list")
    now = lap("bring in, all of it", now)
    if looked.bringing.count("new") != count:
        raise AssertionError(f"{looked.bringing.count('new')} new owners, not {count}")
    del looked
    again = await look(store, NORTH, content, Choices(), NOON)
    lap("look again", now)
    if again.bringing.changes:
        raise AssertionError(f"{len(again.bringing.changes)} changes the second time")
    await store.close()
    return found


def megabytes() -> float:
    """The most memory that this process has held."""
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    return most / (1 << 20 if sys.platform == "darwin" else 1 << 10)


def main(count: int, *, workbook: bool) -> None:
    """Print the table."""
    content = as_xlsx(count) if workbook else as_csv(count)
    before = megabytes()
    with tempfile.TemporaryDirectory() as folder:
        found = asyncio.run(seconds_of(content, Path(folder)))
    print(f"{count:,} rows, {len(content) / 1e6:.1f} MB of {'XLSX' if workbook else 'CSV'}")
    for name, seconds in found.items():
        print(f"  {name:22}{seconds:8.1f} s {count / seconds:10,.0f} rows a second")
    print(f"  most memory: {megabytes():.0f} MB, {before:.0f} MB before it began")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(prog="python -m tests.bench.intake")
    parser.add_argument("--rows", type=int, default=50_000)
    parser.add_argument("--xlsx", action="store_true", help="a workbook instead of CSV")
    options = parser.parse_args()
    main(options.rows, workbook=options.xlsx)

"""`brimful check`: looks at everything the service stands on, and says what is wrong and how to mend it."""

import argparse
import asyncio
import shutil
import stat
import sys
from collections.abc import Iterator, Sequence
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any, NamedTuple

import psycopg

from bot.channels.telegram.probe import Seen, Unreachable, probe
from bot.command.dealer import read_dealers
from bot.run.clock import WallClock
from bot.settings import BadSettings, Settings
from bot.store.contract import POSTGRES, StoreBroken
from bot.store.sqlite.backup import backups_in, examine, made_at

LEAST_FREE = 500_000_000
"""Bytes that should be free beside the database: a backup and a full log fit (common practice)."""
OLDEST_BACKUP = timedelta(hours=36)
"""A night may be missed, two may not."""
SKEW = timedelta(seconds=5)
"""How wrong the clock may be; the service's own time has whole seconds."""
MANY_WAITING = 500
POSTGRES_SECONDS = 5


class Finding(NamedTuple):
    """What one look came to: as it should be, or not, with how to mend it."""

    what: str
    is_well: bool
    said: str


def main(argv: Sequence[str]) -> int:
    """Look and say. 0 where all is well, 1 where something is wrong."""
    argparse.ArgumentParser(
        prog="brimful check",
        description="Look at settings, dealer's file, database, disk, backups, clock, token and webhook; nothing is "
        "changed, and the service may run. Ends with 1 where something is wrong.",
    ).parse_args(argv)
    wrong = 0
    for finding in look():
        wrong += not finding.is_well
        print(f"{'OK' if finding.is_well else 'WRONG':6}{finding.what:10}{finding.said}", flush=True)
    print("All is well." if not wrong else f"{wrong} to mend.", file=sys.stderr)
    return 1 if wrong else 0


def look() -> Iterator[Finding]:
    """Every finding, as it is made."""
    now = WallClock().now()
    try:
        settings = Settings.read()
    except BadSettings as bad:
        yield Finding("settings", False, str(bad))
        return
    yield Finding("settings", True, "can be used")
    if settings.database.startswith(POSTGRES):
        yield _postgres(settings.database, now)
    else:
        yield from _files(Path(settings.database), settings.backups, now)
    yield from _dealers(settings, now)


def _files(database: Path, backups: Path | None, now: datetime) -> Iterator[Finding]:
    if not database.parent.is_dir():
        yield Finding("database", False, f"there is no folder {database.parent}; make it, or set BRIMFUL_DATABASE")
        return
    yield _database(database)
    size = database.stat().st_size if database.exists() else 0
    free = shutil.disk_usage(database.parent).free
    enough = free >= max(LEAST_FREE, 2 * size)
    yield Finding("disk", enough, f"{free / 1e9:.1f} GB free" + ("" if enough else "; make room before it is full"))
    yield _backups(backups, now)


def _database(path: Path) -> Finding:
    if not path.exists():
        return Finding("database", True, f"{path} will be made by the first start")
    if stat.S_IMODE(path.stat().st_mode) & 0o077:
        return Finding("database", False, f"{path} can be read by others; chmod 600 {path}")
    try:
        rows = examine(path)
    except StoreBroken as broken:
        return Finding("database", False, f"{broken}; or put the last one back: brimful restore")
    return Finding("database", True, f"every page read, {sum(rows.values())} rows, {path.stat().st_size / 1e6:.1f} MB")


def _backups(folder: Path | None, now: datetime) -> Finding:
    if folder is None:
        return Finding("backups", False, "none are made; set BRIMFUL_BACKUPS and enable deploy/brimful-backup.timer")
    newest = next(iter(backups_in(folder)), None)
    if newest is None:
        return Finding("backups", False, f"there is none in {folder}; run: brimful backup")
    age = now - made_at(newest)
    if age > OLDEST_BACKUP:
        return Finding("backups", False, f"the newest is {age.days} days old; see why: systemctl status brimful-backup")
    try:
        examine(newest)
    except StoreBroken as broken:
        return Finding("backups", False, f"{broken}; make a new one: brimful backup")
    return Finding("backups", True, f"{newest.name} is whole")


def _postgres(place: str, now: datetime) -> Finding:
    try:
        with psycopg.connect(place, connect_timeout=POSTGRES_SECONDS) as conn:
            row: Any = conn.execute("SELECT now(), to_regclass('schema_steps') IS NOT NULL").fetchone()
    except psycopg.Error as error:
        return Finding(
            "database", False, f"PostgreSQL cannot be reached ({type(error).__name__}); check BRIMFUL_DATABASE"
        )
    if abs(row[0] - now) > SKEW:
        return Finding("database", False, f"its clock says {row[0]:%H:%M:%S} UTC, ours {now:%H:%M:%S}; set both by NTP")
    return Finding("database", True, "answers" + ("" if row[1] else "; the first start makes the tables"))


def _dealers(settings: Settings, now: datetime) -> Iterator[Finding]:
    try:
        dealers = read_dealers(settings.dealer)
    except ValueError as wrong:
        yield Finding("dealer", False, str(wrong))
        return
    names = ", ".join(dealer.name for _, dealer in dealers)
    invented = settings.dealer is None
    told = f"BRIMFUL_DEALER is not set: the bot speaks for {names}, an invented dealer" if invented else names
    yield Finding("dealer", not invented, told)
    for _, dealer in dealers:
        try:
            token = settings.token_for(dealer.key, alone=len(dealers) == 1)
            seen = asyncio.run(probe(token, settings.api_url))
        except BadSettings as bad:
            yield Finding("token", False, str(bad))
        except Unreachable as unreachable:
            yield Finding("service", False, f"{settings.api_url}: {unreachable}")
        else:
            yield from _service(seen, settings, dealer.key, now)


def _service(seen: Seen, settings: Settings, dealer: str, now: datetime) -> Iterator[Finding]:
    if seen.username is None:
        yield Finding("token", False, "the service refuses the token; give the one it issued for this bot")
        return
    named = (settings.bot or "").removeprefix("@")
    if named and named.casefold() != seen.username.casefold():
        yield Finding("token", False, f"it belongs to {seen.username}, not to BRIMFUL_BOT={named}; change one of them")
    else:
        yield Finding("token", True, f"belongs to {seen.username}")
    if seen.clock is not None:
        late = abs(seen.clock - now)
        well = late <= SKEW + timedelta(seconds=1)
        yield Finding("clock", well, "right" if well else f"{late} off the service's; run: timedatectl set-ntp true")
    yield _webhook(seen, settings, dealer)


def _webhook(seen: Seen, settings: Settings, dealer: str) -> Finding:
    wanted = f"{settings.webhook.rstrip('/')}/updates/{dealer}" if settings.webhook else ""
    if seen.webhook != wanted:
        there, here = seen.webhook or "nowhere", wanted or "nowhere, for they are fetched"
        return Finding("webhook", False, f"updates go to {there}, not {here}; start brimful serve, which sets it")
    if wanted and seen.trouble:
        return Finding("webhook", False, f"the service could not bring an update: {seen.trouble}; check the proxy")
    if seen.waiting > MANY_WAITING:
        return Finding("webhook", False, f"{seen.waiting} updates wait with the service; is brimful serve running?")
    return Finding("webhook", True, f"{wanted or 'updates are fetched'}; {seen.waiting} wait")

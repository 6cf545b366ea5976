"""Looking after the dealer's file while the service runs: what changes in it takes effect at once, if it is good."""

import asyncio
import contextlib
import logging
from pathlib import Path

from bot.command.dealer import BadHouse, files_of, read_dealer
from bot.model.dealer import Dealer
from bot.store.contract import Store, StoreBroken

log = logging.getLogger(__name__)
LOOK_SECONDS = 3.0


class HouseFile:
    """A dealer's file and what was last read from it. A bad file, or another dealer's, never replaces a good one."""

    def __init__(self, path: Path, dealer: Dealer, store: Store) -> None:
        self._path = path
        self._store = store
        self._seen = self._contents()
        self.dealer = dealer

    async def look(self) -> bool:
        """Take over what has changed; whether anything did."""
        contents = await asyncio.to_thread(self._contents)
        if contents == self._seen:
            return False
        try:
            dealer = await asyncio.to_thread(read_dealer, self._path)
        except ValueError as wrong:
            self._seen = contents
            for fault in wrong.faults if isinstance(wrong, BadHouse) else [str(wrong)]:
                log.error("%s: %s; the settings stay as they were", self._path, fault)  # noqa: TRY400
            return False
        if dealer.key != self.dealer.key:
            self._seen = contents
            log.error(
                "%s: key is %r; the key of a running house stays %r, and so do the settings",
                self._path, dealer.key, self.dealer.key,
            )  # fmt: skip
            return False
        await self._store.put_dealer(dealer)
        self._seen, changed = contents, dealer != self.dealer
        self.dealer = dealer
        if changed:
            log.info("%s: the new settings hold from now on", self._path)
        return changed

    async def look_after(self, stop: asyncio.Event, seconds: float = LOOK_SECONDS) -> None:
        """Look every few seconds until `stop` is set."""
        while not stop.is_set():
            with contextlib.suppress(TimeoutError):
                await asyncio.wait_for(stop.wait(), seconds)
                return
            try:
                await self.look()
            except StoreBroken as broken:
                log.warning("the store does not work, new settings wait: %s", broken)

    def _contents(self) -> tuple[tuple[Path, bytes], ...]:
        return tuple((path, _bytes(path)) for path in files_of(self._path))


def _bytes(path: Path) -> bytes:
    try:
        return path.read_bytes()
    except OSError:
        return b""

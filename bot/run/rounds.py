"""Rounds on their way: chosen and put into the outbox in slices, so that nobody's own conversation waits for them."""

import asyncio
import logging
from collections.abc import Awaitable, Callable
from datetime import datetime, timedelta

from bot.desk.rounds.choice import choosing, deciding
from bot.desk.rounds.telling import live_message, reports
from bot.model.dealer import Dealer
from bot.model.message import Message
from bot.model.person import Person
from bot.model.round import Round, RoundRow, RoundState, RoundView
from bot.run.bell import Bell
from bot.run.clock import Clock
from bot.store.contract import Store, StoreBroken

log = logging.getLogger(__name__)

PAGE = 150
"""How many owners are looked at in one go while choosing: some tens of milliseconds, for which everybody waits."""
SLICE = 50
"""How many messages are put into the outbox in one transaction."""
AHEAD = 400
"""How many bulk messages wait in the outbox at most: what a pause or a cancel has to take back."""
LOOK_SECONDS = 1.0
SHOW_EVERY = timedelta(seconds=3)
"""How often the progress is shown anew at most: an edit is a message to the service's limits."""
ROWS = 1000


class Rounds:
    """Works on what there is to do for rounds. `on_put` is called when the outbox got something, `wake` when something
    that waited for a choice is due now.
    """

    def __init__(
        self,
        store: Store,
        *,
        on_put: Callable[[], None] = lambda: None,
        wake: Callable[[datetime], Awaitable[object]] | None = None,
    ) -> None:
        self._store = store
        self._on_put, self._wake = on_put, wake
        self._waiting = 0
        """How many bulk messages waited in the outbox when it was looked at last."""
        self._shown: dict[tuple[str, str], tuple[object, datetime]] = {}
        self.bell = Bell()

    async def run_forever(self, clock: Clock, stop: asyncio.Event) -> None:
        """Work until `stop` is set; a slice that is begun is brought to its end."""
        while not stop.is_set():
            try:
                done = await self.work(clock.now(), stop)
            except StoreBroken as broken:
                log.warning("the store does not work, rounds wait: %s", broken)
                done = 0
            await (asyncio.sleep(0) if done else self.bell.wait(LOOK_SECONDS))

    async def work(self, now: datetime, stop: asyncio.Event | None = None) -> int:
        """Do what can be done now; returns how much that was, zero where nothing was left to do."""
        done = 0
        at_work = await self._store.rounds_at_work()
        if not at_work:
            return 0
        dealers = {dealer.key: dealer for dealer in await self._store.dealers()}
        for round_, state in at_work:
            if stop is not None and stop.is_set():
                break
            done += await self._work_on(round_, state, dealers[round_.dealer], now)
        return done

    async def _work_on(self, round_: Round, state: RoundState, dealer: Dealer, now: datetime) -> int:
        if state == "choosing":
            return await self.choose(round_, dealer, now)
        waited, self._waiting = self._waiting, (await self._store.depths())["bulk"]
        emptied = waited > 0 and self._waiting == 0
        done = await self._sweep(round_, dealer, now) if state == "running" else 0
        return done + await self._show(round_, now, at_once=emptied or state in ("done", "cancelled"))

    async def choose(self, round_: Round, dealer: Dealer, now: datetime) -> int:
        """Look through the owners, page by page; returns how many pages there were."""
        pages, over = 0, False
        while not over:
            over = await self._store.choose_round(round_.dealer, round_.key, now, PAGE, choosing(round_, dealer, now))
            pages += 1
            await asyncio.sleep(0)
        if self._wake is not None:
            await self._wake(now)
        return pages

    async def _sweep(self, round_: Round, dealer: Dealer, now: datetime) -> int:
        """Put into the outbox what fits ahead of the post."""
        looked = 0
        room = AHEAD - self._waiting
        while room > 0:
            swept = await self._store.sweep_round(
                round_.dealer, round_.key, now, min(SLICE, room), deciding(round_, dealer, now)
            )
            if not swept.looked:
                break
            looked += swept.looked
            room -= swept.put
            self._waiting += swept.put
            if swept.put:
                self._on_put()
            await asyncio.sleep(0)
        return looked

    async def _show(self, round_: Round, now: datetime, *, at_once: bool) -> int:
        """Show how far a round has come, where that has changed, and end it where nothing is left."""
        key = (round_.dealer, round_.key)
        before, at = self._shown.get(key, (None, now - SHOW_EVERY))
        if now - at < SHOW_EVERY and not at_once:
            return 0
        view = await self._store.round_view(*key)
        if view is None:
            return 0
        if not view.left and view.state in ("running", "done", "cancelled"):
            return await self._finish(view, now)
        state = (view.state, view.counts, view.answers)
        if state == before:
            return 0
        self._shown[key] = (state, now)
        reader = await self._reader(view.round)
        if reader is not None:
            await self._store.post(round_.dealer, [live_message(view, reader)], now)
            self._on_put()
        return 0

    async def _finish(self, view: RoundView, now: datetime) -> int:
        reader = await self._reader(view.round)
        messages: list[Message] = []
        if reader is not None:
            rows = await self.rows(view.round)
            ended = RoundView(
                view.round,
                "cancelled" if view.state == "cancelled" else "done",
                view.counts,
                view.reasons,
                view.answers,
                view.languages,
                view.places,
            )
            messages = [live_message(ended, reader), *reports(ended, rows, reader)]
        finished = await self._store.finish_round(view.round.dealer, view.round.key, messages, now)
        self._shown.pop((view.round.dealer, view.round.key), None)
        if finished:
            self._on_put()
        return int(finished)

    async def _reader(self, round_: Round) -> Person | None:
        """Who watches a round: whoever of the dealer's people began it."""
        return None if round_.by is None else await self._store.person(round_.dealer, round_.by)

    async def rows(self, round_: Round) -> list[RoundRow]:
        """What a round came to for each owner."""
        rows: list[RoundRow] = []
        while page := await self._store.round_rows(
            round_.dealer, round_.key, after=rows[-1].number if rows else 0, limit=ROWS
        ):
            rows += page
            await asyncio.sleep(0)
        return rows

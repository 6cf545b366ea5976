"""The door: HTTP for updates that a service brings, for a balancer's questions, and for figures.

An update is answered only after it is stored. Behind a reverse proxy that speaks HTTPS; on loopback unless told
otherwise.
"""

import asyncio
import json
import logging
from collections.abc import Awaitable, Callable, Mapping
from typing import Any, Protocol

from aiohttp import web

from bot.channels.contract import NotReady
from bot.store.contract import Store, StoreBroken

log = logging.getLogger(__name__)

SECRET_HEADER = "X-Telegram-Bot-Api-Secret-Token"  # noqa: S105 - the header's name
LARGEST_BODY = 1 << 20
"""Bytes; an update is a few thousand."""
READY_SECONDS = 3.0
PASSED_ON = frozenset({"X-Forwarded-For", "Forwarded"})


class Taker(Protocol):
    """A channel to which updates are brought."""

    def is_from_service(self, secret: str) -> bool:
        """Whether whoever brings an update showed the secret."""

    async def take_in(self, raw: dict[str, Any]) -> None:
        """Keep an update durably. NotReady or StoreBroken where that cannot be done now."""


class Door:
    """An HTTP server. `takers` by the last part of their path; `figures` makes the text of the metrics."""

    def __init__(
        self, store: Store, takers: Mapping[str, Taker], *, figures: Callable[[], Awaitable[str]] | None = None
    ) -> None:
        self._store = store
        self._takers = takers
        self._figures = figures
        self._runner: web.AppRunner | None = None

    async def open(self, host: str, port: int) -> int:
        """Listen; returns the port, which the system chooses where 0 was given. OSError where it is taken."""
        application = web.Application(client_max_size=LARGEST_BODY)
        application.router.add_post("/updates/{name}", self._take)
        application.router.add_get("/health", self._health)
        application.router.add_get("/ready", self._ready)
        application.router.add_get("/metrics", self._metrics)
        self._runner = web.AppRunner(application, access_log=None)
        await self._runner.setup()
        site = web.TCPSite(self._runner, host, port)
        await site.start()
        return int(self._runner.addresses[0][1])

    async def close(self) -> None:
        """Take nothing more in; requests under way are brought to their end."""
        if self._runner is not None:
            await self._runner.cleanup()

    async def _take(self, request: web.Request) -> web.Response:
        taker = self._takers.get(request.match_info["name"])
        if taker is None or not taker.is_from_service(request.headers.get(SECRET_HEADER, "")):
            return web.Response(status=403)
        try:
            raw = json.loads(await request.text())
        except (ValueError, LookupError, RecursionError, web.RequestPayloadError):
            return web.Response(status=400)
        if not isinstance(raw, dict) or type(raw.get("update_id")) is not int:
            return web.Response(status=400)
        try:
            await taker.take_in(raw)
        except Exception as error:  # whatever it is, the service brings the update again
            why = error if isinstance(error, NotReady | StoreBroken) else type(error).__name__
            log.warning("update %d could not be kept and is to be brought again: %s", raw["update_id"], why)
            return web.Response(status=503)
        return web.Response()

    async def _health(self, _: web.Request) -> web.Response:
        """The process runs."""
        return web.Response(text="alive\n")

    async def _ready(self, _: web.Request) -> web.Response:
        """The store answers."""
        try:
            async with asyncio.timeout(READY_SECONDS):
                await self._store.dealers()
        except (StoreBroken, TimeoutError) as error:
            log.warning("not ready: %s", error or "the store does not answer in time")
            return web.Response(status=503, text="the store does not answer\n")
        return web.Response(text="ready\n")

    async def _metrics(self, request: web.Request) -> web.Response:
        """For whoever asks from within; what a proxy passes on came from outside."""
        if self._figures is None or not PASSED_ON.isdisjoint(request.headers):
            return web.Response(status=404)
        return web.Response(text=await self._figures(), content_type="text/plain", charset="utf-8")

"""The HTTP side: requests in, answers out, with the faults that were ordered."""

from __future__ import annotations

import asyncio
import hmac
import json
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from typing import Any

from aiohttp import web

from tests.botapi.api import BotApi
from tests.botapi.errors import Json, Refusal, bad_request, conflict
from tests.botapi.faults import Fault
from tests.botapi.files import LARGEST_UPLOAD
from tests.botapi.ledger import Call
from tests.botapi.methods import METHODS
from tests.botapi.params import Params, read
from tests.botapi.webhook import deliver

LONGEST_POLL = 50
FOREVER = 3600.0


@asynccontextmanager
async def serve(api: BotApi, port: int = 0) -> AsyncIterator[BotApi]:
    """Run the service on loopback (`port` 0: any free one) until the block ends; `api.url` says where."""
    application = web.Application(client_max_size=LARGEST_UPLOAD + 10_000_000)
    service = _Service(api)
    application.router.add_route("*", r"/bot{token:[^/]+}/{method}", service.handle)
    application.router.add_get(r"/file/bot{token:[^/]+}/{path:.+}", service.download)
    runner = web.AppRunner(application, access_log=None, handler_cancellation=True, shutdown_timeout=0.2)
    await runner.setup()
    site = web.TCPSite(runner, "127.0.0.1", port)
    await site.start()
    host, bound = runner.addresses[0][:2]
    api.url, api.closing = f"http://{host}:{bound}", False
    posting = asyncio.create_task(deliver(api))
    try:
        yield api
    finally:
        api.closing = True
        api.bell.ring()
        posting.cancel()
        await asyncio.gather(posting, return_exceptions=True)
        await runner.cleanup()


class _Service:
    def __init__(self, api: BotApi) -> None:
        self.api = api

    async def download(self, request: web.Request) -> web.StreamResponse:
        """A file's bytes."""
        stored = self.api.files.by_path.get(request.match_info["path"])
        if not self._is_token(request.match_info["token"]) or stored is None:
            return _answer(Refusal(404, "Not Found").body(), 404)
        fault = self.api.faults.take("download", None)
        if fault is not None and (refused := await self._before(request, fault)):
            return refused
        return web.Response(body=stored.data, content_type="application/octet-stream")

    async def handle(self, request: web.Request) -> web.StreamResponse:
        """One method call, from its record in the ledger to the answer."""
        name = request.match_info["method"]
        if not self._is_token(request.match_info["token"]):
            return _answer(Refusal(401, "Unauthorized").body(), 401)
        call = Call(next(self.api.calls), self.api.clock.now(), name, {})
        self.api.ledger.calls.append(call)
        try:
            params = await read(request)
        except Refusal as refusal:
            return self._refuse(call, refusal)
        call.params = params.shown()
        with self.api.bell.lock:
            fault = self.api.faults.take(name.lower(), _chat_id(params))
        if fault is not None:
            call.outcome = f"fault: {fault.kind} {fault.description}".strip()
            if refused := await self._before(request, fault):
                call.code = refused.status
                return refused
        try:
            result = await self._work(name, params)
        except Refusal as refusal:
            return self._refuse(call, refusal)
        call.worked = True
        if fault is None:
            call.outcome = "ok"
        call.code = 200
        self.api.bell.ring()
        answer = {"ok": True, "result": result}
        return _answer(answer, 200) if fault is None else await self._after(request, fault, answer)

    async def _work(self, name: str, params: Params) -> Any:
        if name.lower() == "getupdates":
            return await self._updates(params)
        known = METHODS.get(name.lower())
        if known is None:
            raise Refusal(404, "Not Found")
        with self.api.bell.lock:
            if known.counts and (chat := _chat_id(params)) is not None:
                album = params.tree("media") if name.lower() == "sendmediagroup" else None
                self.api.limits.admit(chat, self.api.clock, len(album) if isinstance(album, list) else 1)
            return known.work(self.api, params)

    async def _updates(self, params: Params) -> list[Json]:
        api, updates = self.api, self.api.updates
        with api.bell.lock:
            if api.webhook.url:
                raise conflict(
                    "can't use getUpdates method while webhook is active; use deleteWebhook to delete the webhook first"
                )
            limit = min(100, params.integer("limit", 100))
            if limit < 1:
                raise bad_request("limit must be positive")
            updates.want(params.tree("allowed_updates"))
            updates.confirm_below(params.integer("offset"))
            updates.poll += 1
            mine = updates.poll
            api.bell.ring()

        def may_answer() -> bool:
            return bool(updates.pending) or updates.poll != mine or bool(api.webhook.url) or api.closing

        await api.bell.until(may_answer, min(LONGEST_POLL, max(0, params.integer("timeout"))))
        with api.bell.lock:
            if updates.poll != mine:
                raise conflict(
                    "terminated by other getUpdates request; make sure that only one bot instance is running"
                )
            if api.webhook.url:
                raise conflict("terminated by setWebhook request")
            return updates.batch(limit)

    async def _before(self, request: web.Request, fault: Fault) -> web.StreamResponse | None:
        """What a fault does instead of the work; None where the work goes on."""
        match fault.kind:
            case "refuse":
                refusal = fault.refusal()
                return _answer(refusal.body(), refusal.code)
            case "page":
                page = f"<html><body><h1>{fault.code}</h1></body></html>"
                return web.Response(text=page, content_type="text/html", status=fault.code)
            case "drop":
                return _cut(request)
            case "hang":
                await self.api.bell.until(lambda: self.api.closing, FOREVER)
                return _cut(request)
            case "slow":
                await self.api.bell.until(lambda: self.api.closing, fault.seconds)
        return None

    async def _after(self, request: web.Request, fault: Fault, answer: Json) -> web.StreamResponse:
        """What a fault does to the answer of work that was done."""
        match fault.kind:
            case "drop after":
                return _cut(request)
            case "slow after":
                await self.api.bell.until(lambda: self.api.closing, fault.seconds)
            case "garbled":
                return web.Response(text=json.dumps(answer)[:-1], content_type="application/json")
            case "half":
                body = json.dumps(answer).encode()
                response = web.StreamResponse(headers={"Content-Length": str(len(body))})
                response.content_type = "application/json"
                await response.prepare(request)
                await response.write(body[: len(body) // 2])
                _cut(request)
                return response
        return _answer(answer, 200)

    def _refuse(self, call: Call, refusal: Refusal) -> web.Response:
        call.outcome, call.code = refusal.description, refusal.code
        self.api.bell.ring()
        return _answer(refusal.body(), refusal.code)

    def _is_token(self, token: str) -> bool:
        return hmac.compare_digest(token.encode(), self.api.token.encode())


def _chat_id(params: Params) -> int | None:
    try:
        return int(params.text("chat_id"))
    except ValueError:
        return None


def _answer(body: Json, status: int) -> web.Response:
    return web.Response(text=json.dumps(body), content_type="application/json", status=status)


def _cut(request: web.Request) -> web.StreamResponse:
    if request.transport is not None:
        request.transport.abort()
    return web.Response(status=499)

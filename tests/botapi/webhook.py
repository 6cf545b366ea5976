"""Delivery by webhook: POST with the secret, one at a time within a chat, again until it is taken."""

from __future__ import annotations

import asyncio
import re
from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING, Any

import aiohttp

from tests.botapi.errors import Json, bad_request
from tests.botapi.ledger import Handed

if TYPE_CHECKING:
    from tests.botapi.api import BotApi
    from tests.botapi.updates import Waiting

SECRET = re.compile(r"[A-Za-z0-9_-]{1,256}")
PORTS = re.compile(r"https://[^/:]+(:(443|80|88|8443))?(/|$)")
LOOPBACK = re.compile(r"http://(127\.0\.0\.1|localhost|\[::1\])(:\d+)?(/|$)")
Busy = dict[Any, asyncio.Task[None]]
"""Deliveries under way, by chat."""

FIRST_PAUSE = 0.1
LONGEST_PAUSE = 5.0
ANSWER_SECONDS = 10.0


@dataclass
class Webhook:
    """Where updates are posted to; no url, no webhook."""

    url: str = ""
    secret: str = ""
    max_connections: int = 40
    certificate: bool = False
    last_error_at: int = 0
    last_error: str = ""

    def set(self, url: str, secret: str, max_connections: int, *, certificate: bool) -> None:
        """Take over what the bot asks for. Plain HTTP only on loopback, as a server of one's own allows."""
        if not PORTS.match(url) and not LOOPBACK.match(url):
            raise bad_request("bad webhook: An HTTPS URL must be provided for webhook")
        if secret and not SECRET.fullmatch(secret):
            raise bad_request("secret token contains unallowed characters")
        if not 1 <= max_connections <= 100:
            raise bad_request("max_connections must be between 1 and 100")
        self.url, self.secret, self.max_connections, self.certificate = url, secret, max_connections, certificate
        self.last_error_at, self.last_error = 0, ""

    def info(self, pending: int) -> Json:
        """As getWebhookInfo shows it."""
        shown: Json = {
            "url": self.url,
            "has_custom_certificate": self.certificate,
            "pending_update_count": pending,
        }
        if self.url:
            shown["max_connections"] = self.max_connections
        if self.last_error:
            shown |= {"last_error_date": self.last_error_at, "last_error_message": self.last_error}
        return shown


async def deliver(api: BotApi) -> None:
    """Post what is pending whenever there is a webhook; ends when the service closes."""
    busy: Busy = {}
    timeout = aiohttp.ClientTimeout(total=ANSWER_SECONDS)
    async with aiohttp.ClientSession(timeout=timeout) as session:
        try:
            while not api.closing:
                await api.bell.until(lambda: api.closing or _next(api, busy) is not None, 3600)
                with api.bell.lock:
                    waiting = None if api.closing else _next(api, busy)
                if waiting is not None:
                    key = _key(waiting.update)
                    busy[key] = asyncio.create_task(_post(api, session, waiting))
                    busy[key].add_done_callback(partial(_finished, api, busy, key))
        finally:
            for task in list(busy.values()):
                task.cancel()


def _finished(api: BotApi, busy: Busy, key: Any, _: asyncio.Task[None]) -> None:
    del busy[key]
    api.bell.ring()


def _next(api: BotApi, busy: Busy) -> Waiting | None:
    if not api.webhook.url or len(busy) >= api.webhook.max_connections:
        return None
    api.updates.expire()
    return next((waiting for waiting in api.updates.pending if _key(waiting.update) not in busy), None)


def _key(update: Json) -> Any:
    content: Any = next((value for name, value in update.items() if name != "update_id"), {})
    holder = content.get("message", content) if isinstance(content, dict) else {}
    return holder.get("chat", {}).get("id", update["update_id"]) if isinstance(holder, dict) else update["update_id"]


async def _post(api: BotApi, session: aiohttp.ClientSession, waiting: Waiting) -> None:
    pause = FIRST_PAUSE
    while api.webhook.url and waiting in api.updates.pending:
        headers = {"X-Telegram-Bot-Api-Secret-Token": api.webhook.secret} if api.webhook.secret else {}
        api.ledger.handed.append(Handed(waiting.update["update_id"], api.clock.now(), "webhook"))
        try:
            async with session.post(api.webhook.url, json=waiting.update, headers=headers) as answer:
                refused = f"Wrong response from the webhook: {answer.status} {answer.reason}"
                wrong = "" if answer.status < 300 else refused
        except (aiohttp.ClientError, TimeoutError) as error:
            wrong = "Connection refused" if isinstance(error, aiohttp.ClientConnectorError) else "Read timeout expired"
        with api.bell.lock:
            if not wrong:
                if waiting in api.updates.pending:
                    api.updates.confirm(waiting)
                api.bell.ring()
                return
            api.webhook.last_error, api.webhook.last_error_at = wrong, int(api.clock.now())
        await asyncio.sleep(pause)
        pause = min(LONGEST_PAUSE, pause * 2)

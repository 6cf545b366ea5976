"""A look at the service from outside the channel: whether it knows the token, and what it would say of the webhook."""

from datetime import UTC, datetime
from email.utils import parsedate_to_datetime
from typing import Any, NamedTuple

import aiohttp

from bot.channels.telegram.client import trusted
from bot.channels.telegram.redaction import hide

SECONDS = 10.0


class Unreachable(Exception):
    """The service gave no answer that can be used; the text says what to look at, and holds no token."""


class Seen(NamedTuple):
    """What the service says."""

    username: str | None
    """The bot's user name; None where the service refuses the token."""
    webhook: str
    waiting: int
    """How many updates it has not brought or been asked for yet."""
    trouble: str
    """What went wrong when it last brought one; empty where nothing did."""
    clock: datetime | None
    """Its own time, to the second."""


async def probe(token: str, api_url: str) -> Seen:
    """Ask getMe and getWebhookInfo once. Unreachable where there is no answer."""
    hide(token)
    async with aiohttp.ClientSession(
        f"{api_url}/bot{token}/",
        connector=aiohttp.TCPConnector(ssl=trusted()),
        timeout=aiohttp.ClientTimeout(total=SECONDS),
        trust_env=True,
    ) as client:
        me, clock = await _ask(client, "getMe")
        if me is None:
            return Seen(None, "", 0, "", clock)
        info, clock = await _ask(client, "getWebhookInfo")
    info = info or {}
    trouble = str(info.get("last_error_message", ""))
    return Seen(str(me["username"]), str(info.get("url", "")), int(info.get("pending_update_count", 0)), trouble, clock)


async def _ask(client: aiohttp.ClientSession, method: str) -> tuple[dict[str, Any] | None, datetime | None]:
    try:
        async with client.post(method) as answer:
            body = await answer.json(content_type=None)
    except (aiohttp.ClientError, TimeoutError, ValueError) as error:
        raise Unreachable(f"no answer that can be read ({type(error).__name__}); check network and proxy") from None
    if answer.status in (401, 404):
        return None, _time_of(answer)
    if not isinstance(body, dict) or not body.get("ok"):
        raise Unreachable(f"the service answers with {answer.status}; try again later")
    return body["result"], _time_of(answer)


def _time_of(answer: aiohttp.ClientResponse) -> datetime | None:
    try:
        return parsedate_to_datetime(answer.headers["date"]).astimezone(UTC)
    except (KeyError, ValueError):
        return None

"""What stands between the service's answers and the library's polling."""

import asyncio
import contextlib
import json
import logging
import time
from collections.abc import Awaitable, Callable
from typing import Any

from telegram.error import NetworkError

from bot.channels.telegram.client import Answer, Client
from bot.channels.telegram.inbox import Raw, Read, read_update

Keep = Callable[[list[Read]], Awaitable[None]]
"""Keeps a batch durably."""

CONNECTIONS = 2
POOL_SECONDS = 5.0
RIVALS = 3
"""How often in a row another poller may be met before that is trouble."""

log = logging.getLogger(__name__)


class PollingRequest(Client):
    """Asks for updates, reads and keeps them, and gives the library the number of each one once, in order.

    What cannot be kept is a NetworkError, after which alone the library asks again. It would read updates too, and for
    one that it cannot read drop the whole batch and ask for it again without a pause.
    """

    def __init__(self, keep: Keep) -> None:
        super().__init__(CONNECTIONS, POOL_SECONDS)
        self._keep = keep
        self._passed_on = asyncio.Event()
        self._passed_on.set()
        self._answered_at = time.monotonic()
        self._rivals = 0
        self._refused = False

    def begin(self) -> None:
        """Count the service's silence from now on."""
        self._answered_at = time.monotonic()

    async def do_request(self, *args: Any, **kwargs: Any) -> Answer:  # noqa: ANN401 passed on as they come
        """Status and body of the answer, with nothing in it that the library cannot read."""
        self._passed_on.set()
        batch, answer = self._looked_at(await super().do_request(*args, **kwargs))
        if batch is None:
            return answer
        self._passed_on.clear()
        try:
            await self._keep([read_update(raw) for raw in batch])
        except Exception as error:
            self._passed_on.set()
            log.warning("%d updates could not be kept and are asked for again: %s", len(batch), type(error).__name__)
            raise NetworkError("the updates could not be kept") from error
        numbers = [{"update_id": raw["update_id"]} for raw in batch]
        return 200, json.dumps({"ok": True, "result": numbers}).encode()

    async def pass_on(self, seconds: float) -> None:
        """Wait until the library has the numbers of what was kept, which it shows by asking for what follows."""
        with contextlib.suppress(TimeoutError):
            async with asyncio.timeout(seconds):
                await self._passed_on.wait()

    def trouble(self, longest_silence: float) -> str | None:
        """What keeps updates from coming in, in a sentence; None if nothing is known to. Silence in seconds."""
        if self._refused:
            return "The service refuses the token; give the one it issued for this bot."
        if self._rivals >= RIVALS:
            return "Another process polls with the same token; stop it, or give this one a bot of its own."
        silent = time.monotonic() - self._answered_at
        if silent > longest_silence:
            return f"The service has not answered for {silent:.0f} seconds; look at the network."
        return None

    def _looked_at(self, answer: Answer) -> tuple[list[Raw] | None, Answer]:
        """The updates of an answer (None: it holds none to look at) beside the answer; its status is remembered."""
        code = answer[0]
        self._refused = code in {401, 404}
        self._rivals = self._rivals + 1 if code == 409 else 0
        batch = _batch(answer)
        if batch is not None:
            self._answered_at = time.monotonic()
        return batch, answer


def _batch(answer: Answer) -> list[Raw] | None:
    """The updates of an answer by number, each once; None where it holds none to look at.

    NetworkError if they have no numbers. The library asks next for what follows the last one, so order matters.
    """
    code, payload = answer
    if code != 200:
        return None
    try:
        said: Any = json.loads(payload.decode("utf-8", "replace"))
    except ValueError:
        return None
    result = said.get("result") if isinstance(said, dict) else None
    if not isinstance(result, list):
        return None
    numbered = {
        raw["update_id"]: raw for raw in result if isinstance(raw, dict) and isinstance(raw.get("update_id"), int)
    }
    if result and not numbered:
        raise NetworkError("the service answers with updates that have no number")
    return [numbered[number] for number in sorted(numbered)]

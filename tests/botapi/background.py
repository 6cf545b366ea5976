"""The service on a thread of its own, for tests without an event loop and for bots in other processes."""

import asyncio
import threading
from types import TracebackType

from tests.botapi.api import BotApi
from tests.botapi.server import serve

START_SECONDS = 10.0


class Background:
    """`with Background(BotApi()) as api:` serves on loopback; every method of `api` may be called meanwhile."""

    def __init__(self, api: BotApi | None = None, port: int = 0) -> None:
        self.api = api or BotApi()
        self._port = port
        self._ready = threading.Event()
        self._failure: BaseException | None = None
        self._thread = threading.Thread(target=self._run, name="botapi", daemon=True)

    def __enter__(self) -> BotApi:
        self._thread.start()
        if not self._ready.wait(START_SECONDS) or self._failure is not None:
            raise RuntimeError("the Bot API double did not start") from self._failure
        return self.api

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, traceback: TracebackType | None
    ) -> None:
        self._loop.call_soon_threadsafe(self._end.set)
        self._thread.join(START_SECONDS)

    def _run(self) -> None:
        try:
            asyncio.run(self._serve())
        except BaseException as error:
            self._failure = error
            self._ready.set()

    async def _serve(self) -> None:
        self._loop, self._end = asyncio.get_running_loop(), asyncio.Event()
        async with serve(self.api, self._port):
            self._ready.set()
            await self._end.wait()

"""A bell: somebody rings it when there is work, somebody waits for it."""

import asyncio


class Bell:
    """Remembers one ring, so that one that comes while nobody waits is not lost."""

    def __init__(self) -> None:
        self._rung = asyncio.Event()

    def ring(self) -> None:
        """There may be work."""
        self._rung.set()

    async def wait(self, seconds: float) -> None:
        """Return when it rings, at the latest after `seconds`."""
        try:
            async with asyncio.timeout(max(seconds, 0)):
                await self._rung.wait()
        except TimeoutError:
            return
        finally:
            self._rung.clear()

"""Ending when the system or a person at the keyboard asks for it."""

import asyncio
import signal
from collections.abc import Iterator
from contextlib import contextmanager, suppress

ASKING = (signal.SIGTERM, signal.SIGINT)


@contextmanager
def stop_on_signals() -> Iterator[asyncio.Event]:
    """An event that is set by SIGTERM and SIGINT while the block runs; for the loop that runs now."""
    loop = asyncio.get_running_loop()
    stop = asyncio.Event()
    before = {number: signal.getsignal(number) for number in ASKING}
    for number in ASKING:
        try:
            loop.add_signal_handler(number, stop.set)
        except NotImplementedError:  # a system whose loop knows no signals
            signal.signal(number, lambda *_: loop.call_soon_threadsafe(stop.set))
    try:
        yield stop
    finally:
        for number in ASKING:
            with suppress(NotImplementedError):
                loop.remove_signal_handler(number)
            signal.signal(number, before[number])

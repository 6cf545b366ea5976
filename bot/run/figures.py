"""The figures of a service, for Prometheus: counted where everything passes, at the store.

No figure names a dealer's person, tub or chat.
"""

import asyncio
import inspect
import time
from collections.abc import Awaitable, Callable
from datetime import datetime
from functools import wraps
from typing import Any, cast

from prometheus_client import CollectorRegistry, Counter, Gauge, Histogram, generate_latest

from bot.model.event import Fell
from bot.model.message import LANES, Parcel, Refusal
from bot.store.contract import Store, StoreBroken, Taken

QUICK = (0.05, 0.1, 0.25, 0.5, 1.0, 2.5, 5.0, 10.0, 30.0, 60.0)
LATE = (1.0, 5.0, 10.0, 30.0, 60.0, 300.0, 1800.0, 7200.0, 86400.0)
STORE_CALL = (0.001, 0.0025, 0.005, 0.01, 0.025, 0.05, 0.1, 0.25, 1.0, 5.0)
"""Bounds of the buckets, in seconds."""
ENDLESS = frozenset({"hear"})
"""Calls that end only with the service: how long they took says nothing."""


class Figures:
    """What a service counts, in a registry of its own."""

    def __init__(self) -> None:
        self._registry = registry = CollectorRegistry()
        self._received = Counter("brimful_updates", "Updates kept, each once", ["channel"], registry=registry)
        self._handled = Counter(
            "brimful_handled",
            "What came of updates",
            ["outcome"],
            registry=registry,
        )
        self._answers = Histogram(
            "brimful_answer_seconds", "From a person's update to its outcome", registry=registry, buckets=QUICK
        )
        self._late = Histogram(
            "brimful_late_seconds", "From when something fell due to its outcome", registry=registry, buckets=LATE
        )
        self._sends = Counter("brimful_sends", "Messages that the channel took", ["lane"], registry=registry)
        self._waits = Histogram(
            "brimful_send_seconds",
            "From a message's outcome to its leaving",
            ["lane"],
            registry=registry,
            buckets=QUICK,
        )
        self._refusals = Counter("brimful_refusals", "Messages refused", ["kind", "final"], registry=registry)
        self._store = Histogram("brimful_store_seconds", "Store calls", ["call"], registry=registry, buckets=STORE_CALL)
        self._broken = Counter("brimful_store_broken", "Calls that the store could not do", ["call"], registry=registry)
        self._depth = Gauge("brimful_outbox", "Messages that wait", ["lane"], registry=registry)
        self._stock = {
            name: Gauge(f"brimful_{name}", what, registry=registry)
            for name, what in {
                "inbox": "Updates that wait to be handled",
                "due": "Reminders and timers to come",
                "overdue": "Reminders and timers whose time has come",
                "cases": "Open cases",
            }.items()
        }
        for lane in LANES:
            self._sends.labels(lane)

    async def text(self, store: Store, now: datetime) -> str:
        """The figures as they are now, in Prometheus' text format; without the store's own where it does not answer."""
        try:
            for lane, depth in (await store.depths()).items():
                self._depth.labels(lane).set(depth)
            for name, count in (await store.stock(now))._asdict().items():
                self._stock[name].set(count)
        except StoreBroken:
            self._depth.clear()
        return generate_latest(self._registry).decode()

    def took(self, call: str, seconds: float, *, broken: bool = False) -> None:
        """A call of the store ended."""
        self._store.labels(call).observe(seconds)
        if broken:
            self._broken.labels(call).inc()

    def passed(self, call: str, given: inspect.BoundArguments, result: object) -> None:
        """A call of the store did what it was asked for."""
        match call, given.arguments:
            case "receive", {"arrival": arrival} if result:
                self._received.labels(arrival.address.channel).inc()
            case "settle", {"taken": taken, "now": now}:
                self._settled(taken, now, dead=given.arguments.get("dead") is not None)
            case "postpone", _:
                self._handled.labels("postponed").inc()
            case "give_up", {"final": final}:
                self._handled.labels("dead" if final else "tried again").inc()
            case "delivered", {"parcel": parcel, "now": now}:
                self._sent(parcel, now)
            case "refused", {"refusal": refusal, "again_at": again_at}:
                self._refused(refusal, final=again_at is None)

    def _settled(self, taken: Taken, now: datetime, *, dead: bool) -> None:
        self._handled.labels("dead" if dead else "handled").inc()
        event = taken.arrival.event
        if isinstance(event, Fell):
            self._late.observe(max(0.0, (now - event.planned).total_seconds()))
        else:
            self._answers.observe(max(0.0, (now - taken.arrival.at).total_seconds()))

    def _sent(self, parcel: Parcel, now: datetime) -> None:
        self._sends.labels(parcel.message.lane).inc()
        self._waits.labels(parcel.message.lane).observe(max(0.0, (now - parcel.at).total_seconds()))

    def _refused(self, refusal: Refusal, *, final: bool) -> None:
        self._refusals.labels(refusal.kind, str(final).lower()).inc()


def measured(store: Store, figures: Figures) -> Store:
    """The store, with every call counted and timed."""
    return cast("Store", _Measured(store, figures))


class _Measured:
    def __init__(self, store: Store, figures: Figures) -> None:
        self._store = store
        self._figures = figures

    def __getattr__(self, name: str) -> Any:  # noqa: ANN401 - whatever the store has under that name
        found = getattr(self._store, name)
        if name in ENDLESS or not asyncio.iscoroutinefunction(found):
            return found
        call = _timed(name, found, self._figures)
        setattr(self, name, call)
        return call


def _timed(name: str, call: Callable[..., Awaitable[object]], figures: Figures) -> Callable[..., Awaitable[object]]:
    signature = inspect.signature(call)

    @wraps(call)
    async def timed(*args: object, **more: object) -> object:
        begun = time.perf_counter()
        try:
            result = await call(*args, **more)
        except StoreBroken:
            figures.took(name, time.perf_counter() - begun, broken=True)
            raise
        figures.took(name, time.perf_counter() - begun)
        figures.passed(name, signature.bind(*args, **more), result)
        return result

    return timed

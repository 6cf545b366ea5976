"""Plans without a dose: something is missing, too old, not believed, or none of this library's business."""

from __future__ import annotations

from dataclasses import replace
from typing import Literal

from dosing.bathing import bathing, escalate, with_reason
from dosing.codes import AskCode
from dosing.job import Job
from dosing.readings import PHYSICAL
from dosing.steps import Bathing, Doubt, Escalate, Plan


def missing_facts(volume: float | None, sanitizer: str | None) -> tuple[AskCode, ...]:
    """What no dose can do without and nobody has said yet."""
    asks: list[AskCode] = []
    if volume is None:
        asks.append("volume")
    if sanitizer is None:
        asks.append("sanitizer")
    return tuple(asks)


def refused(job: Job, volume: float | None, sanitizer: str | None) -> Plan | None:
    """The plan that gives no dose, or None where doses may be given."""
    limits, known = job.limits, job.known
    flags = escalate(known, known.read, fresh_water=job.fresh_water, limits=limits)
    missing = missing_facts(volume, sanitizer)
    if flags.kind == "danger":
        return _no_dose(job, "withheld", flags, missing)
    if _stale(job):
        stale = _no_dose(job, "ask", Escalate(), (*missing, "fresh_reading"))
        return replace(stale, bathing=Bathing(allowed=False, reasons=("reading_old",)))
    if any(key in known.read and known.read[key].low >= PHYSICAL[key][1] for key in ("ta", "ch")):
        return _no_dose(job, "withheld", with_reason(flags, "beyond_chemistry"), missing)
    if volume is not None and not limits.volume_min <= volume <= limits.volume_max:
        return _no_such_tub(job, volume, flags)
    if missing:
        return _no_dose(job, "ask", flags, (*missing, *known.asks))
    return _not_believed(job, flags)


def _stale(job: Job) -> bool:
    """Too old, or older than something that went in since."""
    poured_since = any(a.hours_ago < job.reading.hours_ago for a in job.ledger.additions)
    return job.reading.hours_ago > job.limits.reading_hours or poured_since


def _no_such_tub(job: Job, volume: float, flags: Escalate) -> Plan:
    doubted = Doubt("volume_implausible", "volume", {"litres": volume})
    if volume > job.limits.volume_max:
        flags = Escalate(needed=True, kind=None, reasons=("not_a_hot_tub",))
        made = _no_dose(job, "withheld", flags, ())
    else:
        made = _no_dose(job, "ask", flags, ("volume",))
    outside = Bathing(allowed=False, reasons=("reading_doubted",))
    return replace(made, doubts=(*made.doubts, doubted), bathing=outside)


def _not_believed(job: Job, flags: Escalate) -> Plan | None:
    known = job.known
    if known.doubted("no_response"):
        return _no_dose(job, "withheld", flags, ("second_test",))
    if known.doubted("bleached_pad", "strips_expired"):
        return _no_dose(job, "ask", flags, tuple(a for a in known.asks if a not in {"fc", "br", "ph", "ta"}))
    return None


def _no_dose(job: Job, status: Literal["ask", "withheld"], flags: Escalate, asks: tuple[AskCode, ...]) -> Plan:
    water = job.region.spreads()
    return Plan(
        status,
        predicted=water,
        water=water,
        bathing=bathing(job.known, job.known.read, (), water, job.limits),
        escalate=flags,
        doubts=job.known.doubts,
        asks=tuple(dict.fromkeys(asks)),
        assumed=job.known.assumed,
    )

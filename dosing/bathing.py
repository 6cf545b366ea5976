"""Whether the readings allow bathing, from when the steps may, and whether a person of the staff is wanted."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import replace

from dosing.codes import BathingCode, DoubtCode, EscalateCode
from dosing.known import Known
from dosing.limits import Limits
from dosing.readings import Interval
from dosing.steps import Bathing, Escalate, Spread, Step

_WITHHOLD: tuple[DoubtCode, ...] = (
    "bleached_pad",
    "ph_dye_falsified",
    "strips_expired",
    "change_impossible",
    "pair_impossible",
    "no_response",
    "free_above_total",
)


def readings_say(known: Known, read: Mapping[str, Interval], limits: Limits) -> list[BathingCode]:
    """Every reason of the readings against bathing now: sanitizer likely out of its band, pH wholly outside."""
    out: list[BathingCode] = []
    sanitizer, ph, temp = read.get(known.key), read.get("ph"), read.get("temp")
    low, high = limits.bromine_bathing if known.key == "br" else limits.chlorine_bathing
    if sanitizer is None or known.sanitizer is None:
        out.append("sanitizer_unknown")
    elif sanitizer.likely < low:
        out.append("br_low" if known.key == "br" else "fc_low")
    elif sanitizer.likely > high:
        out.append("br_high" if known.key == "br" else "fc_high")
    if ph is None:
        out.append("ph_unknown")
    elif ph.high <= limits.ph_bathing[0]:
        out.append("ph_low")
    elif ph.low >= limits.ph_bathing[1]:
        out.append("ph_high")
    if known.cc is not None and known.cc.likely > limits.combined_bathing:
        out.append("cc_high")
    if temp is not None and temp.likely > limits.temperature_max:
        out.append("too_hot")
    return out


def bathing(
    known: Known, read: Mapping[str, Interval], steps: Sequence[Step], predicted: Mapping[str, Spread], limits: Limits
) -> Bathing:
    """Bathing now, and from when: after the last wait, if the water is then likely in range."""
    reasons = readings_say(known, read, limits)
    if known.doubted(*_WITHHOLD):
        reasons.append("reading_doubted")
    if not steps:
        return Bathing(allowed=not reasons, from_minutes=0 if not reasons else None, reasons=tuple(reasons))
    if any(step.action == "drain" for step in steps):
        return Bathing(allowed=False, reasons=(*reasons, "water_change"))
    if any(step.action in {"add", "aerate"} for step in steps):
        reasons.append("dosing")
    if any(step.action == "retest" for step in steps):
        reasons.append("retest_first")
    total = sum(step.wait_minutes for step in steps)
    likely = _in_range_after(known, predicted, limits) and not known.doubted(*_WITHHOLD)
    return Bathing(allowed=False, from_minutes=total if likely else None, reasons=tuple(dict.fromkeys(reasons)))


def _in_range_after(known: Known, predicted: Mapping[str, Spread], limits: Limits) -> bool:
    if known.key not in known.read or "ph" not in known.read or not predicted:
        return False
    low, high = limits.bromine_bathing if known.key == "br" else limits.chlorine_bathing
    ph_low, ph_high = limits.ph_bathing
    fits = low <= predicted[known.key].mid <= high and ph_low <= predicted["ph"].mid <= ph_high
    combined = known.cc is None or known.cc.likely <= limits.combined_bathing
    cool = "temp" not in known.read or known.read["temp"].likely <= limits.temperature_max
    return fits and combined and cool


def escalate(known: Known, read: Mapping[str, Interval], *, fresh_water: bool, limits: Limits) -> Escalate:
    """Which red flag the readings themselves raise."""
    reasons: list[EscalateCode] = []
    if "temp" in read and read["temp"].likely > limits.temperature_max:
        return Escalate(needed=True, kind="danger", reasons=("too_hot",))
    if known.none_read(limits.none_below) and not fresh_water:
        reasons.append("no_sanitizer")
    if known.doubted("no_response"):
        reasons.append("no_response")
    return Escalate(needed=bool(reasons), kind="water" if reasons else None, reasons=tuple(reasons))


def with_reason(escalation: Escalate, reason: EscalateCode) -> Escalate:
    """The same, and one reason more."""
    return replace(escalation, needed=True, kind=escalation.kind or "water", reasons=(*escalation.reasons, reason))

"""Readings that should not be believed, found before any dose."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

from dosing.arrows import CARBONATES, CYANURATE_SOURCES
from dosing.codes import AskCode, DoubtCode
from dosing.known import Known
from dosing.ledger import Ledger
from dosing.limits import Limits
from dosing.products import Kit
from dosing.readings import Interval, Reading
from dosing.region import Region, air_equilibrium_ph
from dosing.steps import Doubt

_JUMP = {"ta": 20.0, "ch": 40.0, "cya": 20.0}
"""mg/L between what is read and what is booked that no eye and no forgotten spoon explains (common practice)."""
_PH_FALL = 0.5
"""pH by which a reading may lie under the last one, both as intervals (common practice)."""
_CARBONIC_PRESSURE_MAX = 0.15
"""atm: far above what a freshly acidified tub holds; beyond it one of the two numbers is wrong (common practice)."""
_BATHED_HOURS = 24.0
"""So long ago is what bathers left nothing that doses of today still meet (common practice)."""
_CYANURATE_TELLS = 40.0
"""mg/L, from which a seventh or more of a usual alkalinity is cyanurate's."""


def doubt(known: Known, reading: Reading, ledger: Ledger, region: Region, kit: Kit, limits: Limits) -> Known:
    """The same knowledge with every doubt named, and the readings that no dose may rest on taken out of `read`."""
    found = list(known.doubts)
    asks = list(known.asks)
    lost: set[str] = set()

    def mark(code: DoubtCode, key: str, lose: tuple[str, ...], ask: AskCode | None, **numbers: float) -> None:
        found.append(Doubt(code, key, {name: round(value, 3) for name, value in numbers.items()}))
        lost.update(lose)
        if ask is not None and ask not in asks:
            asks.append(ask)

    everything = tuple(known.read)
    if reading.method == "strip" and reading.expired:
        mark("strips_expired", "strip", everything, "new_strips")
    _response(reading, ledger, limits, mark, everything)
    _sanitizer(known, ledger, limits, mark)
    _jumps(known, ledger, mark)
    _pair(known, ledger, region, mark)
    _cyanurate(known, ledger, kit, mark, limits)
    read = {key: interval for key, interval in known.read.items() if key not in lost}
    water = known.water
    if "cya" in lost:
        water = {**water, "cya": ledger.carry("cya") or Interval(0.0, limits.cyanurate_warn, 0.0)}
    return replace(known, read=read, water=water, doubts=tuple(found), asks=tuple(asks))


_Mark = Callable[..., None]


def _response(reading: Reading, ledger: Ledger, limits: Limits, mark: _Mark, everything: tuple[str, ...]) -> None:
    key, doses = ledger.doses_without_effect(reading)
    if doses >= limits.same_pad_doses:
        mark("no_response", key, everything, "second_test", doses=doses)


def _sanitizer(known: Known, ledger: Ledger, limits: Limits, mark: _Mark) -> None:
    """A pad bleached white after a dose bigger than bathers explain; dyes of pH and alkalinity falsified by strong
    sanitizer.
    """
    key = known.key
    read = known.read.get(key)
    strong = limits.dye_limit(key)
    used = ledger.used_by_bathers(_BATHED_HOURS, limits.chlorine_per_bather_hour)
    booked = max(0.0, ledger.chlorine_left() - used) * (2.25 if key == "br" else 1.0)
    if read is not None and read.likely <= 1.0 and booked >= 0.8 * strong:
        mark("bleached_pad", key, tuple(known.read), "diluted_test", read=read.likely, booked=booked)
    elif read is not None and read.likely >= strong:
        dyes = tuple(name for name in ("ph", "ta") if name in known.read)
        for name in dyes:
            mark("ph_dye_falsified", name, dyes, None, **{key: read.likely})
    if read is not None:
        _sanitizer_rise(known, ledger, read, mark)


def _sanitizer_rise(known: Known, ledger: Ledger, read: Interval, mark: _Mark) -> None:
    """Chlorine cannot rise by more than went in."""
    key = known.key
    before = next((r for r in reversed(ledger.readings) if key in r.values), None)
    if before is None or known.doubted("bromine_on_chlorine_scale", "chlorine_on_bromine_scale", "still_bromine"):
        return
    since = [a for a in ledger.additions if a.hours_ago <= before.hours_ago]
    rises = [ledger.rise(a) for a in since]
    if key == "br" and rises:
        return
    top = before.intervals(ledger.scale)[key].high + 1.15 * sum(r.chlorine for r in rises)
    if read.low > top + 1.5:
        mark("change_impossible", key, (key,), "second_test", read=read.likely, expected_low=0.0, expected_high=top)


def _jumps(known: Known, ledger: Ledger, mark: _Mark) -> None:
    """What only doses and new water can move has moved without them. Of three readings, two that agree are believed."""
    for key, slack in _JUMP.items():
        read, booked = known.read.get(key), ledger.carry(key)
        if read is None or booked is None or not any(key in r.values for r in ledger.readings):
            continue
        earlier = ledger.without_newest(key).carry(key)
        if _apart(read, booked) > slack and (earlier is None or _apart(read, earlier) > slack):
            numbers = {"read": read.likely, "expected_low": booked.low, "expected_high": booked.high}
            mark("change_impossible", key, (key,), "second_test", **numbers)
    _ph_fall(known, ledger, mark)


def _apart(one: Interval, other: Interval) -> float:
    """The gap between two intervals; negative where they overlap."""
    return max(one.low - other.high, other.low - one.high)


def _ph_fall(known: Known, ledger: Ledger, mark: _Mark) -> None:
    """Nothing but acid, oxidant and new water lowers pH within a week."""
    read = known.read.get("ph")
    before = next((r for r in reversed(ledger.readings) if "ph" in r.values), None)
    if read is None or before is None or before.hours_ago > 24 * 7 or before.hours_ago < 0.5:
        return
    last = before.intervals(ledger.scale)["ph"]
    if read.high < last.low - _PH_FALL and len(ledger.since_fill) == len(ledger.readings):
        numbers = {"read": read.likely, "expected_low": last.low - _PH_FALL, "expected_high": last.high + 1.0}
        mark("change_impossible", "ph", ("ph",), "second_test", **numbers)


def _pair(known: Known, ledger: Ledger, region: Region, mark: _Mark) -> None:
    """A pH and alkalinity that no water of this history can show together."""
    if "ph" not in known.read or "ta" not in known.read:
        return
    ph, ta = known.read["ph"], known.read["ta"]
    pressure = float(region.pco2.min())
    if pressure > _CARBONIC_PRESSURE_MAX:
        mark("pair_impossible", "ph", ("ph", "ta"), "second_test", ph=ph.likely, ta=ta.likely, pco2=pressure)
        return
    based = ledger.grams(sorted(CARBONATES)) > 0 or ledger.chlorine_left() > 0
    if ledger.readings and not based and ph.low > air_equilibrium_ph(region) + 0.15:
        mark("pair_impossible", "ph", ("ph", "ta"), "second_test", ph=ph.likely, ta=ta.likely, pco2=pressure)


def _cyanurate(known: Known, ledger: Ledger, kit: Kit, mark: _Mark, limits: Limits) -> None:
    """Cyanurate that nothing could have brought; cyanurate that passes for carbonate alkalinity."""
    cya = known.read.get("cya")
    if cya is not None and cya.low >= limits.cyanurate_warn:
        booked = ledger.carry("cya")
        no_source = ledger.fill is not None and booked is not None and booked.high < cya.low - 20.0
        kit_has_none = bool(kit.products) and not any(set(p.substances) & CYANURATE_SOURCES for p in kit.products)
        if no_source or (kit_has_none and not ledger.additions):
            mark("cyanurate_without_source", "cya", ("cya",), "second_test", cya=cya.likely)
    in_water = known.water["cya"].likely
    if "ta" in known.read and in_water >= _CYANURATE_TELLS:
        carbonate = max(0.0, known.read["ta"].likely - 0.35 * in_water)
        mark("cyanurate_in_alkalinity", "ta", (), None, cya=in_water, carbonate_alkalinity=carbonate)

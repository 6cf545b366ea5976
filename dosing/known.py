"""What is known of the water when a plan is asked for: the reading in one language, narrowed by what is booked."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from dosing.codes import AskCode, DoubtCode
from dosing.ledger import CARRIED, Ledger
from dosing.limits import Limits
from dosing.readings import PHYSICAL, Interval, Reading, Scale
from dosing.steps import Assumed, Doubt

BROMINE_PER_CHLORINE = 159.808 / 70.906
WATER_KEYS = ("ph", "ta", "ch", "cya", "borate", "tds", "temp", "fc", "br")

# What stands in for a key that nobody read: common practice for a portable tub in use.
_ASSUMED: Mapping[str, Interval] = {
    "ph": Interval(7.2, 7.8, 7.5),
    "ta": Interval(50.0, 120.0, 80.0),
    "ch": Interval(75.0, 250.0, 150.0),
    "cya": Interval(0.0, 30.0, 0.0),
    "borate": Interval(0.0, 0.0, 0.0),
    "tds": Interval(300.0, 1500.0, 600.0),
    "temp": Interval(36.0, 40.0, 38.0),
    "fc": Interval(0.0, 0.0, 0.0),
    "br": Interval(0.0, 0.0, 0.0),
}
_TELL_ASSUMED = ("ph", "ta", "ch", "cya", "temp")


@dataclass(frozen=True, slots=True)
class Known:
    """The reading as the plan understands it.

    `read` holds what this test says and may be believed; `water` an interval for every key of the water, open ends
    closed; `cc` is combined chlorine where it can be judged; `seen` is the sanitizer as the test itself found it,
    before what bathers have used since was taken off.
    """

    sanitizer: str | None
    read: Mapping[str, Interval]
    water: Mapping[str, Interval]
    cc: Interval | None
    seen: Interval | None
    doubts: tuple[Doubt, ...]
    asks: tuple[AskCode, ...]
    assumed: tuple[Assumed, ...]

    @property
    def key(self) -> str:
        """The reading key of the sanitizer in this water."""
        return "br" if self.sanitizer == "bromine" else "fc"

    def none_read(self, least: float) -> bool:
        """Whether the test itself found less sanitizer than this; an estimate of what is left is no finding."""
        return self.key in self.read and self.seen is not None and self.seen.likely < least

    def believes(self, *keys: str) -> bool:
        """Whether all of these were read and none of them is doubted so far that no dose may rest on it."""
        return all(key in self.read for key in keys)

    def doubted(self, *codes: DoubtCode) -> bool:
        """Whether one of these doubts stands."""
        return any(doubt.code in codes for doubt in self.doubts)


def understand(
    reading: Reading, ledger: Ledger, *, sanitizer: str | None, temperature: float | None, scale: Scale, limits: Limits
) -> Known:
    """Read a test: which system, which scale, what is combined, what is assumed. Doubts of history come later."""
    found = reading.intervals(scale)
    doubts: list[Doubt] = []
    system = _system(sanitizer, ledger, doubts)
    _one_scale(found, system, doubts)
    cc = _combined(found, ledger, limits, doubts) if system == "chlorine" else None
    _hardness(found, doubts)
    if temperature is not None and "temp" not in found:
        found["temp"] = Interval(temperature, temperature)
    seen = found.get("br" if system == "bromine" else "fc")
    _soaked(found, reading, ledger, limits)
    water, assumed = _water(found, ledger)
    asks: list[AskCode] = []
    if system is not None and ("br" if system == "bromine" else "fc") not in found:
        asks.append("br" if system == "bromine" else "fc")
    if "ph" not in found:
        asks.append("ph")
    if "ta" not in found and not _within(found.get("ph"), limits.ph_fine):
        asks.append("ta")
    if any(doubt.code == "free_above_total" for doubt in doubts):
        asks.append("second_test")
    return Known(system, found, water, cc, seen, tuple(doubts), tuple(asks), assumed)


def _system(sanitizer: str | None, ledger: Ledger, doubts: list[Doubt]) -> str | None:
    bromide = ledger.bromide_grams()
    if sanitizer == "chlorine" and bromide > 0:
        doubts.append(Doubt("still_bromine", "fc", {"bromide_grams": round(bromide, 1)}))
        return "bromine"
    return sanitizer


def _one_scale(found: dict[str, Interval], system: str | None, doubts: list[Doubt]) -> None:
    """Bromine read on a chlorine scale is 2.25 times the number; chlorine on a bromine pad the number over 2.25."""
    if system == "bromine" and "br" not in found and ("fc" in found or "tc" in found):
        name = "fc" if "fc" in found else "tc"
        found["br"] = found[name].scaled(BROMINE_PER_CHLORINE)
        numbers = {"read": found[name].likely, "as_bromine": round(found["br"].likely, 2)}
        doubts.append(Doubt("bromine_on_chlorine_scale", name, numbers))
    if system == "chlorine" and "fc" not in found and "br" in found:
        found["fc"] = found["br"].scaled(1 / BROMINE_PER_CHLORINE)
        numbers = {"read": found["br"].likely, "as_chlorine": round(found["fc"].likely, 2)}
        doubts.append(Doubt("chlorine_on_bromine_scale", "br", numbers))
    for other in {"bromine": ("fc", "tc", "cc"), "chlorine": ("br",)}.get(system or "", ()):
        found.pop(other, None)


def _combined(found: dict[str, Interval], ledger: Ledger, limits: Limits, doubts: list[Doubt]) -> Interval | None:
    """Combined chlorine as total less free; not judged while monopersulfate reads as combined."""
    free, total, cc = found.get("fc"), found.get("tc"), found.get("cc")
    if cc is None and free is not None and total is not None:
        if free.low > total.high:
            doubts.append(Doubt("free_above_total", "tc", {"fc": free.likely, "tc": total.likely}))
            return None
        likely = max(0.0, total.likely - free.likely)
        cc = Interval(max(0.0, min(likely, total.low - free.high)), max(likely, total.high - free.low), likely)
    oxidiser = ledger.oxidiser(limits.oxidiser_hours)
    if cc is not None and oxidiser is not None:
        numbers = {"hours": round(oxidiser[0], 1), "grams": round(oxidiser[1], 1)}
        doubts.append(Doubt("mps_as_combined", "cc", numbers))
        return None
    return cc


def _within(interval: Interval | None, fine: tuple[float, float]) -> bool:
    return interval is not None and fine[0] <= interval.likely <= fine[1]


def _soaked(found: dict[str, Interval], reading: Reading, ledger: Ledger, limits: Limits) -> None:
    """Take off what bathers after the reading have used up; the high end stays, they may have used less."""
    used = ledger.used_by_bathers(reading.hours_ago, limits.chlorine_per_bather_hour)
    for key, factor in (("fc", 1.0), ("br", BROMINE_PER_CHLORINE)):
        if key in found and used > 0:
            it, less = found[key], used * factor
            found[key] = Interval(max(0.0, it.low - less), it.high, max(0.0, it.likely - less))


def _hardness(found: dict[str, Interval], doubts: list[Doubt]) -> None:
    """Total hardness counts magnesium too: calcium is half of it or more, mostly three quarters (common practice)."""
    if "th" in found and "ch" not in found:
        total = found["th"]
        found["ch"] = Interval(total.low * 0.5, total.high, total.likely * 0.75)
        doubts.append(Doubt("total_not_calcium_hardness", "th", {"th": total.likely}))


def _water(found: Mapping[str, Interval], ledger: Ledger) -> tuple[dict[str, Interval], tuple[Assumed, ...]]:
    water: dict[str, Interval] = {}
    assumed: list[Assumed] = []
    for key in WATER_KEYS:
        read = found.get(key)
        booked = ledger.carry(key) if key in CARRIED else None
        interval = read or booked or _ASSUMED[key]
        if read is not None and booked is not None:
            interval = read.meet(booked) or read
        water[key] = interval.clipped(*PHYSICAL[key])
        if read is None and key in _TELL_ASSUMED:
            it = water[key]
            assumed.append(Assumed(key, round(it.low, 2), round(it.likely, 2), round(it.high, 2)))
    return water, tuple(assumed)

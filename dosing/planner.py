"""`plan(...)`: from what is known of a tub to what a careful technician would do up to the next reading."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass, replace
from typing import Literal

from dosing.arrows import STABILISED, effect
from dosing.balance import Balance, balance, wanted
from dosing.bathing import bathing, escalate, with_reason
from dosing.change import water_change
from dosing.codes import AskCode
from dosing.doubts import doubt
from dosing.history import Past
from dosing.known import Known, understand
from dosing.ledger import Ledger
from dosing.limits import Limits
from dosing.order import Dose, in_order, whole_grams
from dosing.products import DEFAULT_KIT, Kit, Product
from dosing.readings import DEFAULT_SCALE, Interval, Reading, Scale
from dosing.region import Region
from dosing.sanitize import need, sanitize
from dosing.steps import Bathing, Escalate, Later, Plan, Step, Why

Purpose = Literal["test", "startup", "shock"]
_FRESH_HOURS = 48.0
_NO_SANITIZER = {"fc": Interval(0.0, 0.0), "br": Interval(0.0, 0.0)}


@dataclass(frozen=True, slots=True)
class _Job:
    """Everything that one plan is made from."""

    volume: float
    known: Known
    region: Region
    ledger: Ledger
    kit: Kit
    limits: Limits
    purpose: Purpose
    reading: Reading

    @property
    def fresh_water(self) -> bool:
        fill = self.ledger.fill
        return self.purpose == "startup" or (fill is not None and fill.hours_ago <= _FRESH_HOURS)


def plan(
    *,
    volume: float | None,
    sanitizer: Literal["chlorine", "bromine"] | None,
    reading: Reading | None,
    kit: Kit = DEFAULT_KIT,
    scale: Scale = DEFAULT_SCALE,
    history: Sequence[Past] = (),
    temperature: float | None = None,
    purpose: Purpose = "test",
    limits: Limits = Limits(),  # noqa: B008 - frozen
    without: Collection[str] = (),
) -> Plan:
    """What to do with this water up to the next reading.

    Parameters: `volume` in litres, `temperature` in degC, `history` in any order, `without` names products (or pure
    substances) that are not at hand. A missing volume, sanitizer or reading is asked for; no grams come without them.
    """
    ledger = Ledger.of(history, volume, scale)
    reading = reading or _latest(ledger, limits)
    if reading is None:
        return Plan("ask", asks=(*_missing(volume, sanitizer), "fresh_reading" if ledger.readings else "reading"),
                    bathing=Bathing(allowed=False, reasons=("sanitizer_unknown", "ph_unknown")))  # fmt: skip
    known = understand(reading, ledger, sanitizer=sanitizer, temperature=temperature, scale=scale, limits=limits)
    region = Region.of(known.water)
    known = doubt(known, reading, ledger, region, kit, limits)
    job = _Job(volume or 0.0, known, region, ledger, kit.without(*without), limits, purpose, reading)
    refused = _refused(job, volume, sanitizer)
    return refused if refused is not None else _made(job)


def _latest(ledger: Ledger, limits: Limits) -> Reading | None:
    newest = ledger.readings[-1] if ledger.readings else None
    return newest if newest is not None and newest.hours_ago <= limits.reading_hours else None


def _missing(volume: float | None, sanitizer: str | None) -> tuple[AskCode, ...]:
    asks: list[AskCode] = []
    if volume is None:
        asks.append("volume")
    if sanitizer is None:
        asks.append("sanitizer")
    return tuple(asks)


def _refused(job: _Job, volume: float | None, sanitizer: str | None) -> Plan | None:
    """The plan that gives no dose: something is missing, too old, not believed, or none of this library's business."""
    limits, known = job.limits, job.known
    flags = escalate(known, known.read, fresh_water=job.fresh_water, limits=limits)
    missing = _missing(volume, sanitizer)
    if job.reading.hours_ago > limits.reading_hours:
        stale = _no_dose(job, "ask", Escalate(), asks=(*missing, "fresh_reading"))
        return replace(stale, bathing=Bathing(allowed=False, reasons=("reading_old",)))
    if flags.kind == "danger":
        return _no_dose(job, "withheld", flags, asks=missing)
    if volume is not None and volume > limits.volume_swimspa:
        return _no_dose(job, "withheld", Escalate(needed=True, kind=None, reasons=("not_a_hot_tub",)))
    if volume is not None and volume < limits.volume_min:
        return _no_dose(job, "ask", flags, asks=("volume",))
    if missing:
        return _no_dose(job, "ask", flags, asks=(*missing, *known.asks))
    if known.doubted("no_response"):
        return _no_dose(job, "withheld", flags, asks=("second_test",))
    if known.doubted("bleached_pad", "strips_expired"):
        return _no_dose(job, "ask", flags, asks=tuple(a for a in known.asks if a not in {"fc", "br", "ph", "ta"}))
    return None


def _no_dose(job: _Job, status: Literal["ask", "withheld"], flags: Escalate, asks: tuple[AskCode, ...] = ()) -> Plan:
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


def _made(job: _Job) -> Plan:
    change = water_change(job.known, job.region, job.ledger, job.volume, job.limits)
    if change is not None:
        after = job.region.mixed(Region.of({**job.known.water, **change.fill, **_NO_SANITIZER}), change.share)
        retest = _retest(Why("check_result"))
        made = _finished(job, [change.step, retest], after, (), ())
        return replace(made, assumed=(*made.assumed, *change.assumed))
    strong = _too_strong(job)
    if strong is not None:
        return _finished(job, strong, job.region, (), ())
    balanced = _balanced(job)
    region = balanced.after or job.region
    doses = list(balanced.doses)
    asks = list(balanced.asks)
    later = [_later(job, product, rate) for product, rate in balanced.rest]
    region = _harden(job, region, balanced, doses, asks, later)
    region = _sanitized(job, region, doses, asks)
    doses += _by_label(job)
    steps = in_order(doses, job.volume, job.limits)
    held = bool(later) or any("safe_part_only" in step.cautions for step in steps)
    if steps:
        steps.append(_retest(Why("bounds_hold_rest" if held else "check_result")))
    return _finished(job, steps, region, tuple(later), tuple(asks))


def _finished(job: _Job, steps: list[Step], after: Region, later: tuple[Later, ...], asks: tuple[AskCode, ...]) -> Plan:
    known, limits = job.known, job.limits
    flags = escalate(known, known.read, fresh_water=job.fresh_water, limits=limits)
    if not steps and job.ledger.source is not None and _too_hard(job):
        flags = with_reason(flags, "source_too_hard")
    water = job.region.spreads()
    predicted = after.spreads() if steps else water
    asked = tuple(dict.fromkeys((*known.asks, *asks)))
    status: Literal["fine", "plan", "ask"] = "plan" if steps else "ask" if asked else "fine"
    return Plan(
        status,
        tuple(steps),
        later,
        predicted,
        water,
        bathing(known, known.read, steps, predicted, limits),
        flags,
        known.doubts,
        asked,
        known.assumed,
    )


def _too_hard(job: _Job) -> bool:
    ch = job.known.read.get("ch")
    return ch is not None and ch.likely > job.limits.hardness_fine[1] and (
        float(job.region.saturation_index[0]) > job.limits.saturation_fine[1]
    )


def _retest(why: Why) -> Step:
    return Step("retest", "retest", why, cautions=("dip_as_label_says", "read_sanitizer_first", "retest_before_bathing"))


def _too_strong(job: _Job) -> list[Step] | None:
    """Sanitizer so strong that its own dyes lie: wait with the cover open, then test again."""
    known, limits = job.known, job.limits
    if not known.doubted("ph_dye_falsified"):
        return None
    limit = (limits.bromine_bathing if known.key == "br" else limits.chlorine_bathing)[1]
    why = Why("sanitizer_high", {known.key: round(known.read[known.key].likely, 2), "limit": limit})
    wait = Step("wait", "wait", why, wait_minutes=12 * 60, cautions=("nobody_in_water", "cover_open"))
    return [wait, _retest(Why("reading_doubted"))]


def _balanced(job: _Job) -> Balance:
    known, limits = job.known, job.limits
    if not known.believes("ph", "ta"):
        return Balance(after=job.region)
    trend = job.ledger.ph_trend(job.reading)
    want = wanted(job.region, trend, _alkalinity_aim(job), limits)
    week = job.ledger.fill
    new = job.purpose == "startup" or (week is not None and week.hours_ago <= 24 * 7)
    return balance(job.region, want, job.kit, limits, air_first=new)


def _alkalinity_aim(job: _Job) -> float:
    """100 where dichlor is the daily sanitizer: it is the only chlorine at hand, or it was added twice and nothing else."""
    if job.known.key == "br" or job.limits.cyanurate_barred:
        return job.limits.alkalinity_aim
    chlorines = [p for p in job.kit.products if effect(p.substances).chlorine > 0]
    only = bool(chlorines) and all(set(p.substances) & STABILISED for p in chlorines)
    recent = [a for a in job.ledger.additions if a.hours_ago <= 24 * 14 and effect(a.substances).chlorine > 0]
    used = len(recent) >= 2 and all(set(a.substances) & STABILISED for a in recent)
    return job.limits.alkalinity_aim_dichlor if only or used else job.limits.alkalinity_aim


def _later(job: _Job, product: Product, rate: float) -> Later:
    """Rough totals: as many visits as the greatest step allows, three steps of acid a day."""
    limits = job.limits
    acid = effect(product.substances).alkalinity < 0
    a_step = (limits.acid_step if acid else limits.calcium_step) / max(product.substances.values())
    if effect(product.substances).alkalinity > 0:
        a_step = limits.bicarbonate_step
    steps = max(1, math.ceil(rate / min(a_step, product.label_max_g_per_1000l or a_step) - 1e-9))
    visits = math.ceil(steps / limits.acid_steps_a_plan) if acid else steps
    days = math.ceil(steps / limits.acid_steps_a_day) if acid else visits
    grams = whole_grams(rate * job.volume / 1000.0)
    return Later(product.key, product.main or product.key, grams, visits, days)


def _harden(
    job: _Job, region: Region, balanced: Balance, doses: list[Dose], asks: list[AskCode], later: list[Later]
) -> Region:
    """Calcium up, once pH and alkalinity allow: no clouding."""
    known, limits = job.known, job.limits
    ch = known.read.get("ch")
    if ch is None or ch.likely >= limits.hardness_fine[0] or not known.believes("ph", "ta"):
        if ch is None and job.purpose == "startup":
            asks.append("ch")
        return region
    product = next((p for p in job.kit.products if effect(p.substances).hardness > 0 and not effect(p.substances).chlorine), None)
    if product is None:
        asks.append("product_calcium")
        return region
    each = effect(product.substances).hardness
    whole = (limits.hardness_aim - ch.likely) / each
    cap = min(limits.calcium_step / max(product.substances.values()), product.label_max_g_per_1000l or math.inf)
    ready = float(region.ph[0]) <= limits.calcium_ph_max and float(region.alkalinity[0]) <= limits.alkalinity_high
    rate = min(whole, cap) if ready and not balanced.rest else 0.0
    rate *= region.safe_share(effect(product.split(rate)), job.region, limits, 1.0) if rate else 0.0
    if rate > 0:
        why = Why("hardness_low", {"ch": round(ch.likely, 1), "aim": limits.hardness_aim})
        doses.append(Dose("hardness", "calcium", why, product, rate, cautions=() if rate >= whole else ("safe_part_only",)))
        region = region.dosed(effect(product.split(rate)))
    if whole - rate > 0.02 * whole:
        later.append(_later(job, product, whole - rate))
    return region


def _sanitized(job: _Job, region: Region, doses: list[Dose], asks: list[AskCode]) -> Region:
    known, limits = job.known, job.limits
    wanted_now = need(known, job.region, job.purpose, fresh_water=job.fresh_water,
                      booked_hours=job.ledger.hours_since_sanitizer(), limits=limits)  # fmt: skip
    if wanted_now is None:
        return region
    bank = job.ledger.bromide_grams() / job.volume * 1000.0
    done = sanitize(known, region, job.region, wanted_now, job.kit, purpose=job.purpose, bank=bank, limits=limits)
    doses += done.doses
    asks += done.asks
    return done.after


def _by_label(job: _Job) -> list[Dose]:
    """Products whose dose is on the label: a metal binder before any oxidiser, a buffer last, both at start-up only."""
    if job.purpose != "startup":
        return []
    out = []
    for product in job.kit.products:
        rate = product.label_dose_g_per_1000l
        if rate is None or not (product.binder or product.buffer):
            continue
        if product.phosphate and job.known.water["ch"].likely > job.limits.phosphate_hardness_max:
            continue
        code = "metals_before_oxidiser" if product.binder else "buffer_last"
        kind = "binder" if product.binder else "buffer"
        out.append(Dose(product.key, kind, Why(code, {"grams_per_1000l": rate}), product, rate))  # type: ignore[arg-type]
    return out


"""`plan(...)`: from what is known of a tub to what a careful technician would do up to the next reading."""

from __future__ import annotations

import math
from collections.abc import Collection, Sequence
from dataclasses import replace
from typing import Literal, get_args

from dosing.arrows import ACIDS, effect
from dosing.balance import balance, wanted
from dosing.bathing import bathing, escalate, with_reason
from dosing.change import water_change
from dosing.codes import AskCode
from dosing.doubts import doubt
from dosing.history import Past
from dosing.job import Job, Purpose
from dosing.known import understand
from dosing.ledger import Ledger
from dosing.limits import Limits
from dosing.minerals import by_label, expected_later, harden
from dosing.order import Dose, in_order
from dosing.portions import Balance, Wanted
from dosing.products import DEFAULT_KIT, Kit
from dosing.readings import DEFAULT_SCALE, POSSIBLE, Interval, Reading, Scale
from dosing.refusal import missing_facts, refused
from dosing.region import Region
from dosing.sanitize import need, reserve, sanitize
from dosing.steps import Bathing, Later, Plan, Step, Why

_LEAST_ACID = 2.0
"""g per 1,000 L: less makes no room for a chlorine that lifts pH."""
_NO_SANITIZER = {"fc": Interval(0.0, 0.0), "br": Interval(0.0, 0.0)}


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

    Raises ValueError, in a sentence, for a volume or a temperature that is no number, an unknown sanitizer or purpose.
    """
    checked(volume, sanitizer, temperature, purpose)
    ledger = Ledger.of(history, volume, scale)
    reading = reading or _latest(ledger, limits)
    if reading is None:
        return Plan("ask", asks=(*missing_facts(volume, sanitizer), "fresh_reading" if ledger.readings else "reading"),
                    bathing=Bathing(allowed=False, reasons=("sanitizer_unknown", "ph_unknown")))  # fmt: skip
    known = understand(reading, ledger, sanitizer=sanitizer, temperature=temperature, scale=scale, limits=limits)
    region = Region.of(known.water)
    doubted = doubt(known, reading, ledger, region, kit, limits)
    if doubted.water is not known.water:
        region = Region.of(doubted.water)
    known = doubted
    job = Job(volume or 0.0, known, region, ledger, kit.without(*without), limits, purpose, reading)
    no_dose = refused(job, volume, sanitizer)
    return no_dose if no_dose is not None else _made(job)


def checked(volume: object, sanitizer: object, temperature: object = None, purpose: object = "test") -> None:
    """Raise ValueError, in a sentence, for what is no number, no sanitizer or no purpose."""
    for name, value, unit in (("the volume", volume, "litres"), ("the temperature", temperature, "degC")):
        if value is not None and not (isinstance(value, int | float) and math.isfinite(value)):
            raise ValueError(f"{name} is a number of {unit}, or None where it is not known; not {value!r}")
    low, high = POSSIBLE["temp"]
    if temperature is not None and not low <= temperature <= high:  # type: ignore[operator]
        raise ValueError(f"the temperature of a tub's water lies from {low:g} to {high:g} degC; not {temperature:g}")
    if sanitizer not in ("chlorine", "bromine", None):
        raise ValueError(f"the sanitizer is 'chlorine', 'bromine' or None where it is not known; not {sanitizer!r}")
    if purpose not in get_args(Purpose):
        raise ValueError(f"the purpose is one of {', '.join(get_args(Purpose))}; not {purpose!r}")


def _latest(ledger: Ledger, limits: Limits) -> Reading | None:
    newest = ledger.readings[-1] if ledger.readings else None
    return newest if newest is not None and newest.hours_ago <= limits.reading_hours else None


def _made(job: Job) -> Plan:
    change = water_change(job.known, job.region, job.ledger, job.volume, job.limits)
    if change is not None:
        after = job.region.mixed(Region.of({**job.known.water, **change.fill, **_NO_SANITIZER}), change.share)
        check = retest(Why("check_result"))
        made = finished(job, [change.step, check], after, (), ("source_water",) if change.assumed else ())
        return replace(made, assumed=(*made.assumed, *change.assumed))
    strong = _too_strong(job)
    if strong is not None:
        return finished(job, strong, job.region, (), ())
    balanced = _balanced(job)
    region = balanced.after or job.region
    doses = list(balanced.doses)
    asks = list(balanced.asks)
    later = [expected_later(job, product, rate) for product, rate in balanced.rest]
    region = harden(job, region, balanced, doses, asks, later)
    region = _sanitized(job, region, doses, asks, later)
    labelled = by_label(job)
    doses += labelled
    for dose in labelled:
        region = region.dosed(effect(dose.product.split(dose.rate))) if dose.product else region
    steps = [*settling(job, doses), *in_order(doses, job.volume, job.limits)]
    if not steps and later and not asks:
        steps = [Step("wait", "wait", Why("bounds_hold_rest"), wait_minutes=24 * 60)]
    held = bool(later) or any("safe_part_only" in step.cautions for step in steps)
    if steps:
        steps.append(retest(Why("bounds_hold_rest" if held else "check_result")))
    salts = sum(dose.product.alkalinity_per_g * dose.rate for dose in labelled if dose.product)
    return _with_labelled(finished(job, steps, region, tuple(later), tuple(asks)), salts)


def _with_labelled(made: Plan, salts: float) -> Plan:
    """The plan with so much more alkalinity (mg/L) expected: salts outside the table, made to hold pH where it is."""
    before = made.predicted.get("ta")
    if before is None or salts <= 0.0:
        return made
    lifted = replace(before, low=before.low + salts, mid=before.mid + salts, high=before.high + salts)
    return replace(made, predicted={**made.predicted, "ta": lifted})


def finished(job: Job, steps: list[Step], after: Region, later: tuple[Later, ...], asks: tuple[AskCode, ...]) -> Plan:
    """The plan of these steps, after which the water is in that region."""
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


def _too_hard(job: Job) -> bool:
    ch = job.known.read.get("ch")
    return (
        ch is not None
        and ch.likely > job.limits.hardness_fine[1]
        and (float(job.region.saturation_index[0]) > job.limits.saturation_fine[1])
    )


def retest(why: Why) -> Step:
    """The new reading at the end of a plan."""
    return Step(
        "retest", "retest", why, cautions=("dip_as_label_says", "read_sanitizer_first", "retest_before_bathing")
    )


def _too_strong(job: Job) -> list[Step] | None:
    """Sanitizer so strong that its own dyes lie: wait with the cover open, then test again."""
    known, limits = job.known, job.limits
    read = known.read.get(known.key)
    if read is None or read.likely < limits.dye_limit(known.key):
        return None
    limit = (limits.bromine_bathing if known.key == "br" else limits.chlorine_bathing)[1]
    why = Why("sanitizer_high", {known.key: round(read.likely, 2), "limit": limit})
    wait = Step("wait", "wait", why, wait_minutes=12 * 60, cautions=("nobody_in_water", "cover_open"))
    return [wait, retest(Why("reading_doubted"))]


def _balanced(job: Job) -> Balance:
    known, limits = job.known, job.limits
    if not known.believes("ph", "ta"):
        return Balance(after=job.region)
    trend = job.ledger.ph_trend(job.reading)
    hardness_known = "ch" in known.read or job.ledger.carry("ch") is not None
    want = wanted(known.water, job.region, trend, job.alkalinity_aim, limits, hardness_known=hardness_known)
    return balance(job.region, want, job.kit, _today(job), air_first=job.first_week)


def _today(job: Job) -> Limits:
    """The limits of a dose for pH or alkalinity, without any acid once the day's steps of it have gone in."""
    enough = job.ledger.acid_doses(24.0) >= job.limits.acid_steps_a_day
    return replace(job.limits, ph_bounds=job.limits.ph_dosed, acid_step=0.0 if enough else job.limits.acid_step)


def settling(job: Job, doses: Sequence[Dose]) -> list[Step]:
    """A wait before the first dose where the last addition is too fresh: acid and chlorine never meet."""
    last = job.ledger.additions[-1] if job.ledger.additions else None
    if last is None or not any(dose.product for dose in doses):
        return []
    was = {"acid" if set(last.substances) & ACIDS else "", "chlorine" if effect(last.substances).sanitizes else ""} - {
        ""
    }
    are = {"acid" if d.kind == "acid" else "chlorine" if d.kind in {"chlorine", "oxidiser"} else "" for d in doses} - {
        ""
    }
    apart = job.limits.wait_acid_chlorine if len(was | are) > 1 and was else job.limits.wait_between
    minutes = math.ceil(apart - last.hours_ago * 60.0)
    why = Why("one_at_a_time", {"minutes": apart})
    return [Step("settle", "wait", why, wait_minutes=minutes, cautions=("nobody_in_water",))] if minutes > 0 else []


def _sanitized(job: Job, region: Region, doses: list[Dose], asks: list[AskCode], later: list[Later]) -> Region:
    known, limits = job.known, job.limits
    wanted_now = need(
        known,
        job.region,
        job.purpose,
        fresh_water=job.fresh_water,
        booked_hours=job.ledger.hours_since_sanitizer(),
        next_dose_hours=0.0 if doses or later or known.asks else job.ledger.hours_to_next_dose(limits.dose_hours),
        limits=limits,
    )
    if wanted_now is None:
        return region
    bank = job.ledger.bromide_grams() / job.volume * 1000.0
    salt = reserve(known, job.kit, bank, new_water=job.first_week, limits=limits)
    doses += [salt] if isinstance(salt, Dose) else []
    asks += [salt] if isinstance(salt, str) else []
    done = sanitize(known, region, job.region, wanted_now, job.kit, purpose=job.purpose, limits=limits)
    if done.short and known.believes("ph", "ta") and not any(dose.kind == "acid" for dose in doses):
        room = balance(region, Wanted(0, -1, job.alkalinity_aim), job.kit, _today(job), air_first=False)
        if room.after is not None and any(dose.rate >= _LEAST_ACID for dose in room.doses):
            doses += room.doses
            later += [expected_later(job, product, rate) for product, rate in room.rest]
            region = room.after
            done = sanitize(known, region, job.region, wanted_now, job.kit, purpose=job.purpose, limits=limits)
    if done.short:
        done = sanitize(known, region, job.region, wanted_now, job.kit, purpose=job.purpose, limits=limits,
                        as_spent=True)  # fmt: skip
    doses += done.doses
    asks += done.asks
    return done.after

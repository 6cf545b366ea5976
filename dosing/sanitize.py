"""Sanitizer: how much, of what, and why. Active chlorine is what counts, so cyanurate moves the aim."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import NamedTuple

from dosing.active import hocl_at_worst
from dosing.arrows import BROMINES, CHLORINES, OXIDISER, STABILISED, effect
from dosing.codes import AskCode, CautionCode, WhyCode
from dosing.known import Known
from dosing.limits import Limits
from dosing.order import Dose, Kind
from dosing.products import Kit, Product
from dosing.readings import Interval
from dosing.region import Region
from dosing.steps import Why

_LEAST = 0.2
"""mg/L: a smaller dose is not worth opening the pack."""


@dataclass(frozen=True, slots=True)
class Need:
    """Where sanitizer should go and why."""

    code: WhyCode
    aim: float
    numbers: dict[str, float]


@dataclass(frozen=True, slots=True)
class Sanitized:
    """Doses of sanitizer, the region after them, and what is missing.

    `short` where the bounds leave the water below the least that keeps it.
    """

    doses: tuple[Dose, ...]
    after: Region
    asks: tuple[AskCode, ...] = ()
    short: bool = False


def need(
    known: Known,
    region: Region,
    purpose: str,
    *,
    fresh_water: bool,
    booked_hours: float | None,
    next_dose_hours: float,
    limits: Limits,
) -> Need | None:
    """What the sanitizer reading asks for; None where it is in its band (or above) and stays there until it is due.

    `booked_hours` since sanitizer was last known to be there; `next_dose_hours` until somebody doses or tests again.
    """
    read = known.read.get(known.key)
    if read is None:
        return None
    bromine = known.key == "br"
    fine = (limits.bromine_fine if bromine else limits.chlorine_fine)[0]
    aim = limits.bromine_aim if bromine else limits.chlorine_aim
    shock = limits.bromine_shock if bromine else limits.chlorine_shock
    numbers = {known.key: round(read.likely, 2)}
    stale = booked_hours is None or booked_hours > limits.unsanitised_after_hours
    weak = None if bromine else _weak(known, region, read, limits)
    found: tuple[WhyCode, float] | None = None
    if purpose == "shock":
        found = "shock", shock
    elif purpose == "startup" and read.likely < fine:
        found = "startup_sanitizer", aim if bromine else limits.chlorine_startup
    elif known.none_read(limits.none_below) and not fresh_water and stale:
        found = "no_sanitizer", shock
    elif known.cc is not None and known.cc.likely > limits.combined_fine:
        found, numbers["cc"] = ("combined_chlorine", shock), round(known.cc.likely, 2)
    elif _share_below(read, fine) > 0.5:
        found = "sanitizer_low", aim
    elif not bromine and (then := _at_next_dose(read, next_dose_hours, limits)) < fine - _LEAST:
        found, numbers["forecast"] = ("sanitizer_low", aim), round(then, 2)
    elif weak is not None:
        found, numbers["cya"] = ("active_chlorine_low", weak), round(known.water["cya"].likely, 1)
    if found is None or found[1] - read.likely <= _LEAST:
        return None
    return Need(found[0], found[1], {**numbers, "aim": found[1]})


def _share_below(read: Interval, bound: float) -> float:
    """Share of an interval below a bound, half of it lying either side of its most likely value."""
    if bound <= read.likely:
        return 0.5 * max(0.0, bound - read.low) / max(read.likely - read.low, 1e-9)
    return 0.5 + 0.5 * min(1.0, (bound - read.likely) / max(read.high - read.likely, 1e-9))


def _at_next_dose(read: Interval, hours: float, limits: Limits) -> float:
    """Free chlorine left when it is next dosed.

    3 to 5 is what the test should find, and below 3 nobody bathes. What stands at 3 now is below it by tomorrow even in
    a tub at rest: where the tub's own past says that nobody doses until then it is topped up at once; where a dose is
    due within hours, or nothing is known of the tub's ways, 3 is fine. Bathers are not forecast: what they use is
    replaced after each soak.
    """
    return read.likely * math.exp(-limits.chlorine_loss * hours / 24.0)


def _weak(known: Known, region: Region, read: Interval, limits: Limits) -> float | None:
    """An aim that keeps as much active chlorine as the least free chlorine does at the most cyanurate that is fine.

    Judged at the unfavourable convention for the cyanurate constants at bathing temperature. None where it is kept.
    """
    cya = known.water["cya"].likely
    if cya <= limits.cyanurate_warn:
        return None
    ph, temperature = float(region.ph[0]), float(region.temperature[0])
    least = hocl_at_worst(limits.chlorine_fine[0], limits.cyanurate_warn, ph, temperature)
    if hocl_at_worst(read.likely, cya, ph, temperature) >= least:
        return None
    return min(
        limits.chlorine_bathing[1], max(limits.chlorine_aim, limits.chlorine_fine[0] * cya / limits.cyanurate_warn)
    )


def sanitize(known: Known, region: Region, before: Region, wanted: Need, kit: Kit, *, purpose: str, limits: Limits,
             as_spent: bool = False) -> Sanitized:  # fmt: skip
    """The dose that brings the most likely water to its aim while no corner goes beyond the bound.

    `region` is the water when the sanitizer goes in, `before` as it was read. `as_spent` judges pH and scale by where
    they are once the sanitizer is used up, and goes no farther than the daily aim: for water that nothing else keeps.
    """
    bromine = known.key == "br"
    read = known.read[known.key]
    least, daily = (
        (limits.bromine_fine[0], limits.bromine_aim) if bromine else (limits.chlorine_fine[0], limits.chlorine_aim)
    )
    bound = limits.bromine_bound if bromine else limits.chlorine_bound
    aim = min(wanted.aim, daily) if as_spent else wanted.aim
    rise = min(aim - read.likely, bound - known.water[known.key].high)
    if rise < _LEAST:
        return Sanitized((), region)
    choices = _choices(known, rise, kit, purpose, limits)
    if not choices:
        return Sanitized((), region, ("product_oxidiser" if purpose == "shock" else "product_sanitizer",))

    def tried(product: Product) -> _Trial:
        return _tried(product, rise, region, before, limits, bromine=bromine, as_spent=as_spent)

    trials = [tried(choices[0])]
    if trials[0].share < 1.0:
        trials += [tried(product) for product in choices[1:]]
    product, rate, share, after = max(trials, key=lambda trial: min(trial.share, 1.0))
    short = read.likely + share * rise < min(least, aim) - _LEAST
    if share * rise < _LEAST:
        return Sanitized((), region, ("product_acid",), short)
    rate *= share
    cautions: tuple[CautionCode, ...] = ("adds_cyanurate",) if set(product.substances) & STABILISED else ()
    cautions = (*cautions, "safe_part_only") if share < 1.0 else cautions
    kind: Kind = "oxidiser" if product.main == OXIDISER else "chlorine"
    key = {"shock": "shock", "combined_chlorine": "shock"}.get(wanted.code, "sanitizer")
    dose = Dose(key, kind, Why(wanted.code, {**wanted.numbers, "aim": aim}), product, rate, cautions=cautions)
    return Sanitized((dose,), after, short=short)


def _strength(product: Product, *, bromine: bool) -> float:
    """mg/L of sanitizer (as Cl2, or as Br2 in a bromine tub) that a gram per 1,000 L brings."""
    each = effect(product.substances)
    return each.as_bromine if bromine else each.chlorine


def _most(product: Product, limits: Limits) -> float:
    share = product.substances.get(OXIDISER, 0.0)
    return limits.monopersulfate_step / share if share else float("inf")


def reserve(known: Known, kit: Kit, bank: float, *, new_water: bool, limits: Limits) -> Dose | AskCode | None:
    """Sodium bromide for a bromine tub that has no reserve yet: the oxidiser needs something to free.

    `bank` mg/L of bromide salts are booked. Where none is, bromine in water that is not new shows that there is one.
    Asked for where neither the salt nor a donor that brings its own bromide is at hand.
    """
    missing = limits.bromide_bank - bank
    if known.key != "br" or missing <= 1.0 or (bank <= 0 and known.read["br"].likely >= 1.0 and not new_water):
        return None
    product = next((p for p in kit.products if p.main == "sodium_bromide"), None)
    if product is None:
        return None if bank > 0 or kit.holding(BROMINES) else "product_bromide"
    rate = min(missing, limits.bromide_step) / product.substances["sodium_bromide"]
    rate = min(rate, product.label_max_g_per_1000l or rate)
    return Dose(
        "bromide", "bank", Why("bromide_bank", {"bromide": round(bank, 1), "aim": limits.bromide_bank}), product, rate
    )


class _Trial(NamedTuple):
    """A product at the whole dose, the share of it that is safe, and the region after that."""

    product: Product
    rate: float
    share: float
    after: Region


def _tried(product: Product, rise: float, region: Region, before: Region, limits: Limits, *, bromine: bool,
           as_spent: bool) -> _Trial:  # fmt: skip
    strength = _strength(product, bromine=bromine)
    rate = rise / strength if strength else limits.monopersulfate_dose / product.substances[OXIDISER]
    rate = min(rate, product.label_max_g_per_1000l or rate, _most(product, limits))
    dose = effect(product.split(rate))
    share, after = region.safely(dose, before, limits, bromine=bromine)
    if as_spent:
        share, _ = region.safely(dose.used_up(), before, limits)
        after = region.dosed(dose.times(share), bromine=bromine)
    return _Trial(product, rate, share, after)


def _choices(known: Known, rise: float, kit: Kit, purpose: str, limits: Limits) -> list[Product]:
    """The products that may be used, the best first; one goes in.

    The tub's own system before any other, unstabilised once cyanurate would pass its mark or where a code bars it.
    """
    bromine = known.key == "br"
    usable = [p for p in kit.products if p.form != "tablet" and not p.buffer and not p.binder]
    own = [p for p in usable if p.main in BROMINES] if bromine else []
    chlorines = [p for p in usable if p.main in CHLORINES]
    oxidisers = [p for p in usable if p.main == OXIDISER] if bromine or purpose == "shock" else []
    plain = [p for p in chlorines if not set(p.substances) & STABILISED]
    stabilised = [p for p in chlorines if set(p.substances) & STABILISED]
    order = [*own, *stabilised, *plain, *oxidisers]
    if limits.cyanurate_barred:
        order = [*own, *plain, *oxidisers]
    elif stabilised:
        added = effect(stabilised[0].substances)
        brought = rise / _strength(stabilised[0], bromine=bromine) * added.cyanurate
        if known.water["cya"].likely + brought > limits.cyanurate_warn:
            order = [*own, *plain, *oxidisers] or stabilised
    return [p for p in order if _strength(p, bromine=bromine) > 0 or p.main == OXIDISER]

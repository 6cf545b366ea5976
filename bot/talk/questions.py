"""Questions with a short answer of their own, and the small sums behind some of them."""

import math
import re
from collections.abc import Collection, Mapping

from bot.model.fact import Added
from bot.schedule.journal import facts, filled_at
from bot.talk.draft import Draft
from bot.talk.understand import normalise, questions, readings
from bot.talk.understand.amounts import amounts
from bot.talk.understand.normalise import bare
from bot.talk.understand.tokens import tokens
from bot.talk.words import Line, Volume, line
from dosing import SUBSTANCES, Said, limits_for

MOST = 2
"""Answers in one message: more would not be read."""
MOST_LITRES = 20.0
"""More is the tub, not a product (common practice)."""
FIRST = ("all_in_at_once", "complaint", "household", "cyanurate_days")
"""Questions that are answered before others of the same text."""
BROMINE_ONLY = frozenset({"bromine_and_chlorine", "changed_over"})
_PART = re.compile(r"(\d[\d.,]*)\s*(?:l|lt|ltr|litres?|liters?|litros?|liter|gal|gallons?|galones|gallonen)\b")
_HARDNESS = re.compile(r"(?<![\d.,])(\d{1,4})(?![\d.,]*\s*(?:l|lt|ltr|litre|liter|litro|gal)\w*\b)")
_PERCENT = re.compile(r"(\d+(?:[.,]\d+)?)\s*%")
_SOFT = re.compile(r"soft|osmo|\bro\b|rain|distil|descalcif|blanda|lluvia|adouci|pluie|enthart|weich|regen")


def short_answers(draft: Draft, text: str, skip: Collection[str] = ()) -> tuple[Line, ...]:
    """The answers to what a text asks beside everything else, the most important first, but for those in `skip`."""
    bromine = draft.tub is not None and draft.tub.sanitizer == "bromine"
    asked = [code for code in questions(text) if code not in skip and (bromine or code not in BROMINE_ONLY)]
    asked.sort(key=lambda code: FIRST.index(code) if code in FIRST else len(FIRST))
    if "away" in asked:
        asked = [code for code in asked if code not in ("away", "bigger_shock", "guests")]
    heard = readings(text).values
    if {"same_tap", "cya_unlikely"} & set(asked) or not heard:
        asked = [code for code in asked if code != "drain_first"]
    if not _ph_fine(draft, heard):
        asked = [code for code in asked if code != "ph_product"]
    lines = [_answer(draft, code, text) for code in asked]
    return tuple(lines[:MOST])


def _ph_fine(draft: Draft, heard: Mapping[str, Said]) -> bool:
    ph, (low, high) = heard.get("ph"), limits_for(draft.known.dealer.locale).ph_fine
    return bool(ph and ph.low and ph.high and low <= ph.low and ph.high <= high)


def _answer(draft: Draft, code: str, text: str) -> Line:
    if code == "cyanurate_days":
        return cyanurate_days(draft, text) or line("answer.cyanurate")
    if code in ("complaint", "away"):
        return line(f"answer.{code}", dealer=draft.known.dealer.name)
    return line(f"answer.{code}")


def cyanurate_days(draft: Draft, text: str) -> Line | None:
    """After how many doses of so much stabilised chlorine the cyanuric acid comes to a number; None where the text
    gives no weight or nothing is known of the tub. Stoichiometry: what comes with the chlorine stays in the water.
    """
    tub = draft.tub
    grams = next((amount.grams for amount in amounts(tokens(text)) if amount.grams), None)
    product = ((tub.kit if tub else None) or draft.known.dealer.kit).holding(("sodium_dichlor",))
    if tub is None or not tub.volume or not grams or not product:
        return None
    each = sum(SUBSTANCES[name].cyanuric_acid * part for name, part in product[0].split(grams).items())
    per_dose = each * 1000.0 / tub.volume
    said = readings(text).values.get("cya")
    limit = limits_for(draft.known.dealer.locale).cyanurate_change
    aim = said.low if said and said.low else limit
    booked = _booked_cyanurate(draft, tub.volume)
    if per_dose <= 0 or booked >= aim:
        return line("answer.cyanurate_there", aim=aim, booked=round(booked))
    return line(
        "answer.cyanurate_days",
        count=math.ceil((aim - booked) / per_dose - 0.5),
        each=round(per_dose, 1),
        aim=aim,
        booked=round(booked),
        volume=Volume(tub.volume),
    )


def told_chlorine(draft: Draft, text: str) -> Line | None:
    """What so much chlorine, told in the text, makes of the tub's water at most; None where no amount is told."""
    tub = draft.tub
    if tub is None or not tub.volume:
        return None
    kit = tub.kit or draft.known.dealer.kit
    strength = _PERCENT.search(normalise(text))
    most = 0.0
    for amount in amounts(tokens(text)):
        liquid = kit.holding(("sodium_hypochlorite",))
        granules = kit.holding(("sodium_dichlor", "calcium_hypochlorite"))
        if amount.measure == "litre" and amount.count > MOST_LITRES:
            continue
        if amount.measure in ("millilitre", "litre"):
            millilitres = amount.count * (1000.0 if amount.measure == "litre" else 1.0)
            if strength:
                most = max(most, millilitres * 10.0 * float(strength[1].replace(",", ".")))
            elif liquid:
                most = max(most, _as_chlorine(liquid[0].split(millilitres * liquid[0].density)))
        elif amount.grams and granules:
            most = max(most, _as_chlorine(granules[0].split(amount.grams)))
    mg_per_litre = most / tub.volume
    if mg_per_litre < limits_for(draft.known.dealer.locale).chlorine_bound:
        return None
    return line("answer.told_chlorine", value=round(mg_per_litre), volume=Volume(tub.volume))


def _as_chlorine(substances: Mapping[str, float]) -> float:
    """mg of free chlorine in grams of pure substances."""
    return sum(SUBSTANCES[name].free_chlorine * grams * 1000.0 for name, grams in substances.items())


def _booked_cyanurate(draft: Draft, litres: float) -> float:
    """mg/L that the additions of this fill have brought."""
    since = filled_at(draft.journal)
    grams = sum(
        SUBSTANCES[name].cyanuric_acid * part
        for entry, added in facts(draft.journal, Added)
        if since is None or entry.at >= since
        for name, part in added.substances.items()
        if name in SUBSTANCES
    )
    return grams * 1000.0 / litres


def blend(text: str) -> float | None:
    """Hardness, mg/L, of water filled from two sources, each told with its amount and hardness (`500 l tap (360) and
    1000 l softened (0)`); None where the text tells none.
    """
    plain = bare(normalise(text))
    parts = list(_PART.finditer(plain))
    if len(parts) != 2:
        return None
    pieces = [plain[parts[0].end() : parts[1].start()], plain[parts[1].end() : parts[1].end() + 60]]
    litres = [float(part[1].replace(",", "").replace(".", "")) for part in parts if part[1].strip(".,")]
    hardness = [_hardness_in(piece) for piece in pieces]
    if len(litres) != 2 or None in hardness or sum(litres) <= 0:
        return None
    return sum(each * (hard or 0.0) for each, hard in zip(litres, hardness, strict=True)) / sum(litres)


def blend_line(draft: Draft, hardness: float) -> Line:
    """What a blend's hardness asks for."""
    low, high = limits_for(draft.known.dealer.locale).hardness_fine
    verdict = "soft" if hardness < low else "hard" if hardness > high else "fine"
    return line(f"answer.blend.{verdict}", value=round(hardness))


def _hardness_in(piece: str) -> float | None:
    found = _HARDNESS.search(piece)
    if found:
        return float(found[1])
    return 0.0 if _SOFT.search(piece) else None

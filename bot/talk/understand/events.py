"""What an owner tells that was done or happened: additions, soaks, water changes, filter care, broken glass."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, time
from functools import cache
from itertools import pairwise
from typing import Literal

from bot.talk.understand.amounts import Amount, amounts
from bot.talk.understand.durations import spans
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.moments import moment
from bot.talk.understand.numerals import numbers
from bot.talk.understand.rules import matches, rules
from bot.talk.understand.scan import scan
from bot.talk.understand.soaks import MOST_BATHERS, TOGETHER, gathering
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.water_age import water_age
from bot.talk.understand.words import table

EventKind = Literal[
    "addition", "soak", "drained", "refilled", "filled", "topped_up", "filter_rinse", "filter_soak", "filter_change",
    "cartridge_change", "cartridge_either", "glass", "water_since",
]  # fmt: skip
"""`cartridge_either`: "changed the cartridge": the water-treatment cartridge or the filter element, so ask.
`water_since`: how old the water is, not that it was changed."""
Role = Literal[
    "ph_down", "ph_up", "alkalinity_up", "hardness_up", "chlorine", "bromine", "shock", "metal_binder",
    "scale_inhibitor", "ph_buffer", "clarifier", "antifoam", "enzyme", "line_cleaner", "algaecide",
]  # fmt: skip
"""What a product is for, whatever the owner calls it."""

_VERB_REACH = 14
_DENIED_REACH = 5
_SCRAP = 4


@cache
def _together() -> Lexicon:
    phrases = table("times")["phrases"]
    return Lexicon({label: phrases[label] for label in TOGETHER})


@dataclass(frozen=True, slots=True)
class EventHeard:
    """Something told: what, when (never later than `now`), and how much where it was said.

    `amount` counts `measure`s (`cap`, `spoon`, `tablet`, ...); `grams` is set only where a weight was said. `exact` is
    false where the hour is a guess ("yesterday").
    """

    kind: EventKind
    at: datetime
    exact: bool
    evidence: str
    role: Role | None = None
    amount: float | None = None
    measure: str | None = None
    grams: float | None = None
    bathers: int | None = None
    minutes: float | None = None


_PRESENT = frozenset({"j", "je", "on", "nous", "tu"})
_PLAIN_VERBS = frozenset({"add", "use", "dose", "pour", "ajoute", "rajoute", "verse", "mets"})


@cache
def _done() -> Lexicon:
    events = table("events")
    labels = {f"role:{role}": terms for role, terms in events["products"].items()}
    labels |= {f"done:{label}": terms for label, terms in events["done"].items()}
    labels |= {f"verb:{label}": terms for label, terms in events["verbs"].items()}
    return Lexicon({**labels, "people": events["people"]["unit"]}, table("ordinary")["words"])


def events(text: str, now: datetime) -> tuple[EventHeard, ...]:
    """What a text tells as done, in its order. Questions, plans and denials tell nothing.

    `now` is the moment of telling, aware of its zone, which "yesterday" and "at 9 pm" are read in.
    """
    words = tokens(text)
    found: list[EventHeard] = []
    sentences = _sentences(words)
    for sentence, following in pairwise([*sentences, []]):
        age = water_age(sentence, now.date())
        when, exact = _when(sentence, following, now)
        poured, to_the_hour = moment([*sentence[: age.start], *sentence[age.end :]], now) if age else (when, exact)
        hits = _done().hits(sentence)
        heard = [
            *_additions(sentence, hits, poured, exact=to_the_hour),
            *_happenings(sentence, hits, when, exact=exact),
        ]
        heard.sort(key=lambda pair: pair[0].start)
        found.extend(event for _, event in heard)
        if age and not any(event.kind in ("filled", "refilled", "drained") for _, event in heard):
            at = datetime.combine(age.since, time(12), now.tzinfo)
            evidence = " ".join(t.text for t in sentence[age.start : age.end])
            found.append(EventHeard("water_since", at, exact=False, evidence=evidence))
    if any(rule.name == "glass" and next(matches(scan(text), rule), None) for rule in rules("flag")):
        found.append(EventHeard("glass", now, exact=False, evidence="glass"))
    return tuple(dict.fromkeys(found))


def _when(sentence: Sequence[Token], following: Sequence[Token], now: datetime) -> tuple[datetime, bool]:
    """When a sentence places things; `cleaned the filter.. in july?` says so in a scrap of a sentence behind it."""
    when, exact = moment(sentence, now)
    if when == now and exact and 0 < len(following) <= _SCRAP and not _done().hits(following):
        return moment(following, now)
    return when, exact


def doses(text: str, now: datetime) -> tuple[EventHeard, ...]:
    """Every product of a text with an amount beside it, whether it was done, is to be done or must not be."""
    found: list[EventHeard] = []
    for sentence in _sentences(tokens(text)):
        products = _products(_done().hits(sentence))
        found += [event for _, event in _measured(sentence, products, now) if event.amount is not None]
    return tuple(found)


def _sentences(words: Sequence[Token]) -> list[list[Token]]:
    parts: dict[int, list[Token]] = {}
    for token in words:
        parts.setdefault(token.sentence, []).append(token)
    return list(parts.values())


def _additions(
    words: list[Token], hits: Sequence[Hit], when: datetime, *, exact: bool
) -> Iterator[tuple[Hit, EventHeard]]:
    verbs = [h for h in hits if h.label == "verb:added" and not _denied(words, hits, h)]
    near = [it for it in _products(hits) if any(abs(it.start - v.start) <= _VERB_REACH for v in verbs)]
    halved = any(h.label == "verb:only_half" for h in hits)
    yield from _measured(words, near, when, exact=exact, halved=halved)


def _products(hits: Sequence[Hit]) -> list[Hit]:
    return _widest([h for h in hits if h.label.startswith("role:")])


def _measured(
    words: list[Token], products: Sequence[Hit], when: datetime, *, exact: bool = False, halved: bool = False
) -> Iterator[tuple[Hit, EventHeard]]:
    """Each of these products with the amount beside it."""
    measured = amounts(words)
    used: set[Amount] = set()
    for product in products:
        amount = _beside(product, [a for a in measured if a not in used])
        if amount:
            used.add(amount)
        role: Role = product.label.removeprefix("role:")  # type: ignore[assignment]
        evidence = " ".join(t.text for t in words[product.start : product.end])
        yield product, EventHeard(
            "addition", when, exact, evidence, role,
            amount=amount.count if amount else (0.5 if halved else None),
            measure=amount.measure if amount else ("planned" if halved else None),
            grams=amount.grams if amount else None,
        )  # fmt: skip


def _beside(product: Hit, measured: Sequence[Amount]) -> Amount | None:
    """The amount just before the product (`2 caps of`), else the nearest after it (`chlorine, 20 g`)."""
    before = [a for a in measured if 0 <= product.start - a.end <= 3]
    after = [a for a in measured if 0 <= a.start - product.end <= 4]
    return before[-1] if before else (after[0] if after else None)


def _widest(hits: Sequence[Hit]) -> list[Hit]:
    """Of overlapping names the longest: `chlorine free shock` is no chlorine."""
    chosen: list[Hit] = []
    for hit in sorted(dict.fromkeys(hits), key=lambda h: (h.start, -h.end)):
        if not chosen or hit.end > chosen[-1].end:
            chosen.append(hit)
    return chosen


def _denied(words: Sequence[Token], hits: Sequence[Hit], verb: Hit) -> bool:
    """Whether a question, a plan or a denial stands before the verb, or it is part of a habit (`only use`)."""
    if _asks(words, verb):
        return True
    if any(h.label == "verb:not_yet" and h.start < verb.start < h.end for h in hits):
        return True
    before = [h for h in hits if h.label == "verb:not_yet" and 0 <= verb.start - h.end < _DENIED_REACH]
    return any(
        not any(t.text in {",", ";", ":", "-", "but", "pero", "mais", "aber"} for t in words[h.end : verb.start])
        for h in before
    )


def _asks(words: Sequence[Token], verb: Hit) -> bool:
    """`j'ajoute du chlore ?`, `add soda now?`: what is to be done, though without accents it looks like what was."""
    if words[-1].text != "?":
        return False
    before, word = words[verb.start - 1].text if verb.start else "", words[verb.start].text
    return before in _PRESENT or word.endswith("er") or (verb.start == 0 and word in _PLAIN_VERBS)


def _happenings(
    words: list[Token], hits: Sequence[Hit], when: datetime, *, exact: bool
) -> Iterator[tuple[Hit, EventHeard]]:
    seen: set[str] = set()
    done = _widest([h for h in hits if h.label.startswith("done:")])
    for hit in done:
        label = hit.label.removeprefix("done:")
        if label in seen or _denied(words, hits, hit) or (label == "cartridge_either" and "cartridge_change" in seen):
            continue
        if exact and any(h.label == "verb:each" and 0 <= h.start - hit.end <= 1 for h in hits):
            continue  # `water change every 3 months`: a habit, without a word of when it was done last
        seen.add(label)
        evidence = " ".join(t.text for t in words[hit.start : hit.end])
        if label == "shocked":
            if not any(h.label.startswith("role:") and h.label != "role:shock" for h in hits):
                yield hit, EventHeard("addition", when, exact, evidence, "shock")
        elif label == "soaked":
            yield hit, EventHeard("soak", when, exact, evidence, bathers=_people(words, hits), minutes=_minutes(words))
        else:
            kind: EventKind = label  # type: ignore[assignment]
            yield hit, EventHeard(kind, when, exact, evidence)
    if "soaked" not in seen and (told := gathering(words)):
        evidence = " ".join(t.text for t in words[told.start : told.end])
        yield (
            Hit("done:soaked", told.start, told.end),
            EventHeard("soak", when, exact, evidence, bathers=told.bathers, minutes=_minutes(words)),
        )


def _people(words: Sequence[Token], hits: Sequence[Hit]) -> int | None:
    units = [h for h in hits if h.label == "people"]
    for number in numbers(words):
        if (
            number.value == int(number.value)
            and 0 < number.value <= MOST_BATHERS
            and any(0 <= u.start - number.end <= 1 for u in units)
        ):
            return int(number.value)
    together = next((TOGETHER[hit.label] for hit in _together().longest(words)), None)
    told = gathering(words) if together is None else None
    return told.bathers if told else together


def _minutes(words: Sequence[Token]) -> float | None:
    return next((s.minutes for s in spans(words) if s.direction == 0 and 0 < s.minutes <= 24 * 60), None)

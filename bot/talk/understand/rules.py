"""Which rules a scanned text meets."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from functools import cache
from typing import Any, Literal

from bot.talk.understand.lexicon import Hit
from bot.talk.understand.scan import Scan, span
from bot.talk.understand.words import table

_NEAR, _APART = 12, 8


@dataclass(frozen=True, slots=True)
class Rule:
    """One way for something to be said: all of `parts` (each any of several concepts) within `near` tokens."""

    parts: tuple[tuple[str, ...], ...]
    unless: tuple[str, ...]
    near: int
    apart: int
    name: str
    """The kind of flag, or the code of a symptom or request."""
    number: int = 0


@cache
def rules(group: Literal["flag", "symptom", "request", "question"]) -> tuple[Rule, ...]:
    """The rules of one group, as `words/rules.toml` lists them."""
    return tuple(_rule(row) for row in table("rules")[group])


def _rule(row: Mapping[str, Any]) -> Rule:
    parts = tuple(tuple(part.split("|")) for part in row["all"]) if "all" in row else (tuple(row["any"]),)
    name = row["kind"] if "kind" in row else row["code"]
    return Rule(
        parts,
        tuple(row.get("unless", ())),
        row.get("near", _NEAR),
        row.get("apart", _APART),
        name,
        row.get("number", 0),
    )


def matches(scan: Scan, rule: Rule) -> Iterator[tuple[Hit, ...]]:
    """Each place where the rule is met, as the hits that met it."""
    for concept in rule.parts[0]:
        for first in scan.found.get(concept, ()):
            hits = [first]
            for part in rule.parts[1:]:
                if (near := scan.nearest(part, first)) is None:
                    break
                hits.append(near)
            else:
                if (len(hits) == 1 or span(hits) <= rule.near) and not _excused(scan, rule, hits):
                    yield tuple(hits)


def _excused(scan: Scan, rule: Rule, hits: list[Hit]) -> bool:
    if not rule.unless:
        return False
    whole = Hit("", min(h.start for h in hits), max(h.end for h in hits))
    near = scan.nearest(rule.unless, whole)
    if near is None:
        return False
    gap = max(near.start - whole.end, whole.start - near.end, 0)
    return gap <= rule.apart

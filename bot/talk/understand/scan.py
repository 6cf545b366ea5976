"""The concepts of a text (a child, a chemical, a breaker that trips), without harmless sayings and what is denied."""

import re
from bisect import bisect_left
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache
from typing import Any

from bot.talk.understand.language import language
from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.words import table

_LANGUAGES = ("en", "es", "fr", "de", "more")
_NEIGHBOURS = {"es": ("pt", "it"), "de": ("nl",), "en": ()}
_REACH = 5
_NO_DENIAL = (["mal"], ["que"], ["seulement"], ["nur"], ["auf"], ["aufhoren"])
_NONE_OF_IT = frozenset({"none", "nil", "ninguna", "ninguno", "aucune", "aucun", "keine", "keiner", "keins", "keinen"})
_NO_ANSWER = (["idea"], ["clue"], ["se"], ["lo"], ["but"])
_STOPS = frozenset(".!?;:\n()…")
_SENTENCE = re.compile(r"[.!?;:\n()…]+")
_A_SENTENCE = 3
"""Words; fewer tell too little of their language."""
_PERSONS = frozenset({"child", "person"})
_WHOLE_GROUPS = frozenset(
    {"none", "neither", "nobody", "noone", "nadie", "niemand", "keiner", "keines", "ninguno", "aucun", "personne"}
)


@cache
def _concepts() -> dict[str, Lexicon]:
    return {code: Lexicon(table(f"concepts_{code}"), _never_misspelt(code)) for code in _LANGUAGES}


def _never_misspelt(code: str) -> frozenset[str]:
    """Words of a language that are themselves, however close they come to one of the tables."""
    return frozenset([*table("ordinary")["words"], *table("everyday").get(code, "").split()])


def _concept_hits(words: Sequence[Token], spoken: str | None) -> list[Hit]:
    """Words of every language, since people mix them; misspellings only in the language that the text is in."""
    found = {
        hit
        for code, lexicon in _concepts().items()
        for hit in lexicon.hits(words, forgiving=spoken in {code, None} and code != "more")
    }
    return sorted(found, key=lambda h: (h.start, h.end, h.label))


@cache
def _negation() -> Lexicon:
    return Lexicon(table("negation"), table("ordinary")["words"])


@cache
def _late_denials() -> frozenset[str]:
    denials: list[str] = table("negation")["after"]
    return frozenset(denials)


@cache
def neutral() -> frozenset[str]:
    """Concepts that count though they stand in the reach of a negation."""
    rules: dict[str, Any] = table("rules")
    return frozenset(rules["neutral"])


@dataclass(frozen=True, slots=True)
class Scan:
    """A text's tokens and, by concept, where it is met, in order of place."""

    text: str
    tokens: tuple[Token, ...]
    found: dict[str, list[Hit]]
    denied: frozenset[int]
    """Places of the tokens in the reach of a negation."""

    def nearest(self, concepts: Sequence[str], to: Hit) -> Hit | None:
        """The occurrence of one of these concepts that lies closest to another hit."""
        near: list[Hit] = []
        for concept in concepts:
            hits = self.found.get(concept, [])
            at = bisect_left(hits, to.start, key=lambda h: h.start)
            near.extend(hits[max(0, at - 1) : at + 2])
        return min(near, key=lambda h: span([h, to]), default=None)

    def words(self, hit: Hit) -> str:
        """The words of a hit."""
        return " ".join(t.text for t in self.tokens[hit.start : hit.end])


def span(hits: Sequence[Hit]) -> int:
    """How many tokens hits stretch over, from the first to the last."""
    return max(h.end for h in hits) - min(h.start for h in hits)


@lru_cache(maxsize=64)
def scan(text: str) -> Scan:
    """All concepts in a text that are meant and not denied."""
    words = tokens(text)
    spoken = language(text)
    tongues = _tongues(text, spoken)
    hits = _concept_hits(words, spoken)
    harmless = {i for h in hits if h.label == "harmless" for i in range(h.start, h.end)}
    ends = frozenset(h.start for h in hits if h.label in _PERSONS)
    denied = _denied(words, ends)
    found: dict[str, list[Hit]] = {}
    for hit in hits:
        if hit.end == hit.start + 1 and _foreign(words[hit.start].text, tongues):
            continue
        if hit.label == "harmless" or (hit.label != "treated" and harmless.intersection(range(hit.start, hit.end))):
            continue
        if hit.label in neutral() or not (hit.start in denied or _denied_after(words, hit)):
            found.setdefault(hit.label, []).append(hit)
    return Scan(text, words, found, frozenset(denied))


def _tongues(text: str, spoken: str | None) -> frozenset[str | None]:
    """The languages of a text and of its sentences, since people greet in one and go on in another."""
    sentences = (part for part in _SENTENCE.split(text) if len(part.split()) >= _A_SENTENCE)
    return frozenset({spoken, *map(language, sentences)})


def _foreign(word: str, tongues: frozenset[str | None]) -> bool:
    """`son` is a child in English only, `kind` in German only."""
    languages: list[str] = table("ordinary")["only_in"].get(word, [])
    kin = {code for own in languages for code in (own, *_NEIGHBOURS.get(own, ()))}
    return bool(languages) and None not in tongues and not tongues & kin


def _denied(words: Sequence[Token], persons: frozenset[int]) -> set[int]:
    """Tokens in the reach of a negation: `no rash or fever`, `kein Fieber`, `pas de fièvre`."""
    hits = _negation().hits(words, forgiving=False)
    labels: dict[int, set[str]] = {}
    for hit in hits:
        labels.setdefault(hit.start, set()).add(hit.label)
    spoiled = {i for h in hits if h.label == "only_look_so" for i in range(h.start, h.end)}
    denied: set[int] = set()
    for hit in hits:
        if hit.label == "negators" and hit.start not in spoiled:
            denied.update(_reach(words, hit, labels, persons))
    return denied


def _reach(words: Sequence[Token], negator: Hit, labels: dict[int, set[str]], persons: frozenset[int]) -> list[int]:
    reach: list[int] = []
    limit = negator.end + _REACH
    whole_group = words[negator.start].text in _WHOLE_GROUPS
    at = negator.end
    while at < min(limit, len(words)):
        text, here = words[at].text, labels.get(at, set())
        if text == "," and any("or" in labels.get(i, ()) for i in range(at + 1, min(at + 5, len(words)))):
            limit += 2
        elif (
            text in _STOPS
            or text == ","
            or ("reach_ends" in here and at > negator.end)
            or (at in persons and at > negator.end + 1 and not whole_group)
        ):
            break
        elif "or" in here:
            limit += 3
        reach.append(at)
        at += 1
    return reach


def _denied_after(words: Sequence[Token], hit: Hit) -> bool:
    """`fever: no`, `rash? none`, `tos ninguna`, `Fieber hat keiner`."""
    after = [t.text for t in words[hit.end : hit.end + 5]]
    if len(after) >= 2 and after[0] in {":", "?", "-", "=", "->"} and after[1] in _late_denials():
        return after[2:3] not in _NO_ANSWER
    closing = next((i for i, text in enumerate(after) if text in {".", ",", "!", ";", "\n"}), len(after))
    late = after[:closing]
    if after[:1] in (["pas"], ["nicht"]) and after[1:2] not in _NO_DENIAL:
        return True
    if len(late) == 1 and late[0] in _NONE_OF_IT:
        return True
    return (
        2 <= len(late) <= 3
        and late[0] in {"hat", "hatte", "haben", "wurde", "ist"}
        and late[-1] in {"niemand", "keiner", "nichts", "nicht"}
    )

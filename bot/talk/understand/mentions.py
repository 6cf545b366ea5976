"""The names of readings in a text, and what may stand between a name and its number."""

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache

from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.tokens import Token
from bot.talk.understand.words import table

_MARKS = frozenset([":", "=", "~", "<", ">", "(", ")", "[", "]", ",", "-", "*", '"', "'", "?", "|", "#", "+", "/", "–"])
_LONGEST_GAP = 9
_NEVER_MISSPELT = (
    "care",
    "chart",
    "shard",
    "hared",
    "share",
    "card",
    "heard",
    "board",
    "temper",
    "tempo",
    "bromo",
    "close",
    "alkaline",
    "alone",
)


@cache
def _names() -> Lexicon:
    words = table("readings")
    return Lexicon({**words["keys"], "product": words["products"]["product"]}, _NEVER_MISSPELT)


@cache
def _between_words() -> Lexicon:
    return Lexicon(table("readings")["around"], _NEVER_MISSPELT)


def names(tokens: Sequence[Token]) -> list[Hit]:
    """Names of readings (label: the key, or `total`, `sanitizer`), product names left out."""
    return [_formula(tokens, hit) for hit in _names().longest(tokens) if hit.label != "product"]


def names_a_reading(tokens: Sequence[Token]) -> bool:
    """Whether a text speaks of a reading by its name, so that its bare number is no answer to anything else: `ph 8`."""
    return any(hit.label not in {"total", "sanitizer", "temp"} for hit in names(tokens))


def _formula(tokens: Sequence[Token], hit: Hit) -> Hit:
    """`Cl2 3` names Cl2 and says 3; `cl2` alone says 2."""
    after = [t.text for t in tokens[hit.end : hit.end + 2]]
    if tokens[hit.start].text == "cl" and after[:1] == ["2"] and tokens[hit.end].glued:
        follows = tokens[hit.end + 1] if len(after) > 1 else None
        if follows and (follows.kind == "number" or follows.text in {":", "=", "<", ">"}):
            return Hit(hit.label, hit.start, hit.end + 1)
    return hit


@dataclass(frozen=True, slots=True)
class Gap:
    """What lies between a name and a number (or the end): `open` if nothing there parts them."""

    open: bool
    labels: frozenset[str]


class Gaps:
    """Judges the stretch between a name and its number."""

    def __init__(self, tokens: Sequence[Token]) -> None:
        self._tokens = tokens
        self._hits: dict[int, list[Hit]] = {}
        for hit in _between_words().hits(tokens):
            self._hits.setdefault(hit.start, []).append(hit)

    def between(self, start: int, end: int) -> Gap:
        """From token `start` up to `end`: whether the words between only fill, and which kinds they are."""
        labels: set[str] = set()
        at = start
        while at < end:
            hits = [h for h in self._hits.get(at, ()) if h.end <= end]
            if hits:
                furthest = max(h.end for h in hits)
                labels.update(h.label for h in hits if h.end == furthest)
                at = furthest
            elif self._tokens[at].text in _MARKS or (self._tokens[at].text == "." and at == end - 1):
                at += 1
            else:
                return Gap(open=False, labels=frozenset(labels))
        return Gap(open=end - start <= _LONGEST_GAP, labels=frozenset(labels))

    def first(self, labels: frozenset[str], start: int, limit: int) -> Hit | None:
        """The first term with one of these labels after `start`, with only fillers before it."""
        for at in range(start, min(limit, start + _LONGEST_GAP)):
            wanted = [h for h in self._hits.get(at, ()) if h.label in labels and h.end <= limit]
            if wanted and self.between(start, at).open:
                return max(wanted, key=lambda h: h.end)
        return None

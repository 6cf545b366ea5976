"""Readings from free text: any order, any subset, any of the usual spellings, units and number forms."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache
from typing import Literal

from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.meaning import OFF_THE_BOTTOM, OFF_THE_TOP, Doubt, Heard
from bot.talk.understand.mentions import Gaps, names
from bot.talk.understand.quantities import quantities
from bot.talk.understand.quantity import Quantity, Unit, as_reading, fits_habit
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.words import table
from dosing import Said

Sanitizer = Literal["chlorine", "bromine"]
_CHLORINE = frozenset({"fc", "cc", "tc"})
_LEFT_FILL = frozenset(["of", "de", "for", "on", "the", "in", "free", "total", "is", ":", "=", ",", "ppm"])
_OFF = {"off_top": OFF_THE_TOP, "off_bottom": OFF_THE_BOTTOM}
_SAID_WITHOUT_NUMBER = frozenset({"off_top", "off_bottom", "colour", "unsure"})
_BARE_UNIT_TEMPERATURE = frozenset({"celsius", "fahrenheit"})
_ELSEWHERE = frozenset(
    [
        "outside",
        "outdoors",
        "air",
        "set",
        "setting",
        "oven",
        "draussen",
        "aussen",
        "eingestellt",
        "fuera",
        "exterior",
        "dehors",
        "exterieur",
        "regle",
        "regle",
        "consigne",
    ]
)

_Pairs = dict[int, int]
"""From index of the name to index of the quantity."""


def readings(text: str, *, sanitizer: Sanitizer | None = None) -> Heard:
    """What a text says about the water.

    `sanitizer` tells which reading a bare "sanitizer 3" is. A pad beyond its chart is `OFF_THE_TOP` or
    `OFF_THE_BOTTOM`. Every number that could be two things is a doubt and not a value.
    """
    words = tokens(text)
    named = names(words)
    found = [q for q in quantities(words) if not any(n.start <= q.start < n.end for n in named)]
    reader = _Reader(words, named, found, sanitizer)
    values, doubts = reader.read()
    return Heard(values, doubts, method_named(words))


@cache
def _methods() -> Lexicon:
    return Lexicon(table("readings")["method"], ("matter", "later", "metre", "metres", "tried", "strap"))


def method_named(words: Sequence[Token]) -> Literal["strip", "drops", "meter"] | None:
    """How it was tested, where the text says so; a meter or drops beat a strip named beside them."""
    labels = {hit.label for hit in _methods().hits(words)}
    for method in ("meter", "drops", "strip"):
        if method in labels:
            return method
    return None


class _Reader:
    def __init__(
        self, words: Sequence[Token], named: list[Hit], found: list[Quantity], sanitizer: Sanitizer | None
    ) -> None:
        self.words = words
        self.named = named
        self.found = found
        self.gaps = Gaps(words)
        self.keys = [self._key(hit, sanitizer) for hit in named]
        self.values: dict[str, Said] = {}
        self.doubts: list[Doubt] = []

    def read(self) -> tuple[dict[str, Said], tuple[Doubt, ...]]:
        pairs = self._pairs()
        habit = self._habit(pairs)
        for place, key in enumerate(self.keys):
            if key is None:
                continue
            if place in pairs:
                self._numbered(place, key, pairs[place], habit)
            else:
                self._unnumbered(place, key)
        self._bare_temperature(set(pairs.values()))
        self._nameless(pairs)
        return self.values, tuple(self.doubts)

    def _key(self, hit: Hit, sanitizer: Sanitizer | None) -> str | None:
        if hit.label == "sanitizer":
            return {"chlorine": "fc", "bromine": "br", None: "sanitizer"}[sanitizer]
        if hit.label == "total":
            return "tc" if any(other.label in _CHLORINE for other in self.named) else None
        return hit.label

    def _pairs(self) -> _Pairs:
        rightward, leftward = self._rightward(), self._leftward()
        first, second = (
            (leftward, rightward) if self._score(leftward) > self._score(rightward) else (rightward, leftward)
        )
        pairs = dict(first)
        for name, number in second.items():
            if name not in pairs and number not in pairs.values():
                pairs[name] = number
        return pairs

    def _usable(self, quantity: Quantity) -> bool:
        return quantity.other_unit is None and not quantity.aimed

    def _rightward(self) -> _Pairs:
        pairs: _Pairs = {}
        for place, hit in enumerate(self.named):
            limit = self.named[place + 1].start if place + 1 < len(self.named) else len(self.words)
            inside = (i for i, q in enumerate(self.found) if hit.end <= q.start < limit)
            number = next((i for i in inside if not self._too_shy(self.found[i], hit.end)), None)
            if number is None or self.keys[place] is None or not self._usable(self.found[number]):
                continue
            quantity = self.found[number]
            gap = self.gaps.between(hit.end, quantity.start)
            alone = hit.end == quantity.start or gap.open
            if alone and not gap.labels & {"off_top", "off_bottom", "target"}:
                pairs[place] = number
        return pairs

    def _too_shy(self, quantity: Quantity, name_end: int) -> bool:
        """`the alk one is green`: a shy number word counts only if nothing but an end or a mark follows."""
        if not quantity.shy:
            return False
        after = self.words[quantity.end] if quantity.end < len(self.words) else None
        ends = after is None or after.kind == "mark" or any(n.start == quantity.end for n in self.named)
        return not (ends and quantity.start - name_end <= 2)

    def _leftward(self) -> _Pairs:
        pairs: _Pairs = {}
        for place, hit in enumerate(self.named):
            floor = self.named[place - 1].end if place else 0
            before = [i for i, q in enumerate(self.found) if floor <= q.start and q.end <= hit.start]
            if not before or self.keys[place] is None:
                continue
            quantity = self.found[before[-1]]
            between = self.words[quantity.end : hit.start]
            if (
                self._usable(quantity)
                and not quantity.shy
                and len(between) <= 2
                and all(t.text in _LEFT_FILL for t in between)
            ):
                pairs[place] = before[-1]
        return pairs

    def _score(self, pairs: _Pairs) -> int:
        said = (
            as_reading(self.found[number], self.keys[place] or "", None)
            for place, number in pairs.items()
            if self.keys[place] != "sanitizer"
        )
        return sum(1 if isinstance(one, Said) or one.choices else -1 for one in said)

    def _habit(self, pairs: _Pairs) -> Unit | None:
        units = {self.found[number].unit for place, number in pairs.items() if self.keys[place] in {"ta", "ch", "th"}}
        used = units - {None, "ppm", "celsius", "degree"}
        if len(used) != 1 or "ppm" in units:
            return None
        unit = used.pop()
        return "fh" if unit == "fahrenheit" else unit

    def _numbered(self, place: int, key: str, number: int, habit: Unit | None) -> None:
        quantity = self.found[number]
        if key == "sanitizer":
            self.doubts.append(Doubt("which_sanitizer", None, quantity.text, quantity.lows))
            return
        gap = self.gaps.between(self.named[place].end, quantity.start)
        if "moved" in gap.labels and quantity.kind == "range":
            self.doubts.append(Doubt("two_values", key, quantity.text, (quantity.lows[0], quantity.highs[0])))
            return
        if later := self._arrow_to(place, quantity):
            self.doubts.append(
                Doubt("two_values", key, f"{quantity.text} -> {later.text}", (quantity.lows[0], later.lows[0]))
            )
            return
        self._keep(key, as_reading(quantity, key, habit if fits_habit(quantity, key, habit) else None), quantity)

    def _arrow_to(self, place: int, quantity: Quantity) -> Quantity | None:
        """`5 at night -> 0 in the morning`: the number after the arrow."""
        limit = self.named[place + 1].start if place + 1 < len(self.named) else len(self.words)
        arrow = next(
            (i for i in range(quantity.end, min(limit, quantity.end + 6)) if self.words[i].text == "->"), limit
        )
        return next((q for q in self.found if arrow < q.start < min(limit, arrow + 3)), None)

    def _keep(self, key: str, said: Said | Doubt, quantity: Quantity) -> None:
        if isinstance(said, Doubt):
            self.doubts.append(said)
        elif self.values.setdefault(key, said) != said:
            first = self.values.pop(key)
            self.doubts.append(
                Doubt(
                    "two_values", key, quantity.text, tuple(e for s in (first, said) for e in (s.low,) if e is not None)
                )
            )

    def _unnumbered(self, place: int, key: str) -> None:
        hit = self.named[place]
        limit = self.named[place + 1].start if place + 1 < len(self.named) else len(self.words)
        said = self.gaps.first(_SAID_WITHOUT_NUMBER, hit.end, limit)
        if said is None or said.label == "unsure":
            return
        if said.label == "colour":
            if not any(d.code == "colour" and d.key == key for d in self.doubts):
                self.doubts.append(Doubt("colour", key, " ".join(t.text for t in self.words[hit.start : said.end])))
        elif key != "sanitizer":
            self.values.setdefault(key, self._bounded(said, limit, key))

    def _bounded(self, said: Hit, limit: int, key: str) -> Said:
        """`off the chart (8.4+)`: the number given with it is the bound."""
        off = _OFF[said.label]
        for quantity in self.found:
            if said.end <= quantity.start < min(limit, said.end + 8) and self._usable(quantity):
                bound = as_reading(replace(quantity, kind="above" if off.kind == "above" else "below"), key)
                if isinstance(bound, Said):
                    return bound
        return off

    def _bare_temperature(self, used: set[int]) -> None:
        if "temp" in self.keys:
            return
        loose = [
            q for i, q in enumerate(self.found) if i not in used and q.unit in _BARE_UNIT_TEMPERATURE and q.lows[0] >= 0
        ]
        if len(loose) != 1:
            return
        near = {t.text for t in self.words[max(0, loose[0].start - 3) : loose[0].end + 3]}
        said = as_reading(loose[0], "temp")
        if isinstance(said, Said) and not near & _ELSEWHERE:
            self.values["temp"] = said

    def _nameless(self, pairs: _Pairs) -> None:
        """A text of numbers alone could be any reading."""
        if pairs or self.values or self.doubts or any(t.kind == "word" for t in self.words):
            return
        self.doubts.extend(Doubt("which_reading", None, q.text, q.lows) for q in self.found)

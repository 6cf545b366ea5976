"""Numbers in a text, in digits or in words, with every value that they can mean."""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache, lru_cache

from bot.talk.understand.normalise import bare
from bot.talk.understand.tokens import Token
from bot.talk.understand.words import table

LANGUAGES = ("en", "es", "fr", "de")
_GROUPED = re.compile(r"\d{1,3}(?:,\d{3}){2,}|\d{1,3}(?:\.\d{3}){2,}")
_BOTH_MARKS = re.compile(r"\d{1,3}(?:,\d{3})+\.\d+|\d{1,3}(?:\.\d{3})+,\d+")


@dataclass(frozen=True, slots=True)
class Number:
    """A number at tokens `start` to `end`. More than one value: it can be read in more than one way."""

    start: int
    end: int
    values: tuple[float, ...]
    text: str
    in_words: bool = False
    shy: bool = False
    """A word that is more often not a number (`one`, `un`, `once`)."""

    @property
    def value(self) -> float:
        """The first, most literal meaning."""
        return self.values[0]


def numbers(tokens: Sequence[Token]) -> list[Number]:
    """All numbers among the tokens, from the left, without overlap."""
    return list(_numbers(tuple(tokens)))


@lru_cache(maxsize=32)
def _numbers(tokens: tuple[Token, ...]) -> tuple[Number, ...]:
    found: list[Number] = []
    at = 0
    while at < len(tokens):
        number = _digits(tokens, at) if tokens[at].kind == "number" else _in_words(tokens, at)
        if number:
            found.append(number)
        at = number.end if number else at + 1
    return tuple(found)


def written(literal: str) -> tuple[float, ...]:
    """What digits with points and commas can mean: `7,4` one thing, `1,234` and `1.234` two, `7.4.5` nothing."""
    if _BOTH_MARKS.fullmatch(literal):
        mark = "," if literal.rfind(",") < literal.rfind(".") else "."
        whole = float(literal.replace(mark, "").replace(",", "."))
        return (whole, float(re.split(r"[.,]", literal)[0] + "." + re.split(r"[.,]", literal)[1]))
    if _GROUPED.fullmatch(literal):
        return (float(literal.replace(",", "").replace(".", "")),)
    marks = [c for c in literal if c in ".,"]
    if len(marks) > 1:
        return ()
    decimal = float(literal.replace(",", ".")[:40])
    head, _, tail = literal.replace(",", ".").partition(".")
    if len(tail) == 3 and 1 <= len(head) <= 3 and not head.startswith("0"):
        thousands = float(head + tail)
        return (decimal, thousands) if marks == ["."] else (thousands, decimal)
    return (decimal,)


def _digits(tokens: Sequence[Token], at: int) -> Number | None:
    literal = tokens[at].text
    values = written(literal)
    if not values:
        return None
    end = at + 1
    if fraction := _fraction(tokens, at):
        return Number(at, at + 3, (fraction,), f"{literal}/{tokens[at + 2].text}")
    if len(values) == 1 and (fraction := _fraction(tokens, at + 1)) and values[0] == int(values[0]):
        return Number(at, at + 4, (values[0] + fraction,), f"{literal} {tokens[at + 1].text}/{tokens[at + 3].text}")
    if end < len(tokens) and tokens[end].kind == "word":
        for half in _half_words():
            if tuple(t.text for t in tokens[end : end + len(half)]) == half:
                return Number(at, end + len(half), (values[0] + 0.5,), literal)
    negative = at > 0 and tokens[at - 1].text == "-" and not tokens[at - 1].glued and tokens[at].glued
    if negative and at > 1 and tokens[at - 2].kind == "number":
        negative = False
    return Number(at, end, tuple(-v for v in values) if negative else values, literal)


def _fraction(tokens: Sequence[Token], at: int) -> float | None:
    if at + 2 >= len(tokens) or tokens[at + 1].text != "/" or not (tokens[at + 1].glued and tokens[at + 2].glued):
        return None
    top, bottom = tokens[at].text, tokens[at + 2].text
    if top in {"1", "2", "3"} and bottom in {"2", "3", "4", "8"} and int(top) < int(bottom):
        return int(top) / int(bottom)
    return None


@dataclass(frozen=True, slots=True)
class _Grammar:
    small: dict[str, int]
    hundreds: dict[str, int]
    hundred: frozenset[str]
    thousand: frozenset[str]
    point: frozenset[str]
    links: frozenset[str]
    shy: frozenset[str]
    halves: tuple[tuple[str, ...], ...]


@cache
def _grammar(language: str) -> _Grammar:
    words = table("numbers")[language]
    small = _both_spellings(words["small"])
    hundreds = _both_spellings(words.get("hundreds", {}))
    if language == "de":
        small, hundreds = _german_compounds(small)
    return _Grammar(
        small,
        hundreds,
        frozenset(words["hundred"]),
        frozenset(words["thousand"]),
        frozenset(words["point"]),
        frozenset(words["and"]),
        frozenset(words["shy"]),
        tuple(tuple(half.split()) for half in words["half"]),
    )


@cache
def _opening_words() -> frozenset[str]:
    """Every word that a number can begin with."""
    grammars = [_grammar(language) for language in LANGUAGES]
    return frozenset(
        w for g in grammars for group in (g.small, g.hundreds, g.hundred, g.thousand, g.point) for w in group
    )


@cache
def _half_words() -> tuple[tuple[str, ...], ...]:
    return tuple(half for language in LANGUAGES for half in _grammar(language).halves)


def _both_spellings(words: dict[str, int]) -> dict[str, int]:
    out = {bare(word): value for word, value in words.items()}
    for word, value in words.items():
        out[bare(word.replace("ü", "ue").replace("ö", "oe").replace("ß", "ss"))] = value
        out[bare(word.replace("ß", "ss"))] = value
    return out


def _german_compounds(small: dict[str, int]) -> tuple[dict[str, int], dict[str, int]]:
    ones = {w: v for w, v in small.items() if 1 <= v <= 9 and w not in {"eins", "eine", "einen"}}
    tens = {w: v for w, v in small.items() if v >= 20}
    below_100 = dict(small) | {f"{o}und{t}": v + u for o, v in ones.items() for t, u in tens.items()}
    teens = {w: v for w, v in small.items() if 11 <= v <= 19}
    hundreds = {f"{o}hundert": 100 * v for o, v in (ones | teens).items()} | {"hundert": 100}
    below_1000 = below_100 | hundreds | {h + w: n + v for h, n in hundreds.items() for w, v in below_100.items() if v}
    thousands = {f"{o}tausend": 1000 * v for o, v in ones.items()} | {"tausend": 1000}
    above = {t + w: n + v for t, n in thousands.items() if n <= 2000 for w, v in below_1000.items() if 0 < v < 1000}
    return below_100, {w: v for w, v in (below_1000 | thousands | above).items() if v >= 100}


def _in_words(tokens: Sequence[Token], at: int) -> Number | None:
    if tokens[at].text not in _opening_words() or _is_french_very(tokens, at):
        return None
    tries = (_spoken(tokens, at, _grammar(language)) for language in LANGUAGES)
    return max((n for n in tries if n), key=lambda n: (n.end, not n.shy), default=None)


def _is_french_very(tokens: Sequence[Token], at: int) -> bool:
    """Bare of its accent, `très haut` begins like a Spanish three."""
    return tokens[at].text == "tres" and at + 1 < len(tokens) and tokens[at + 1].text in table("numbers")["after_tres"]


def _spoken(tokens: Sequence[Token], at: int, grammar: _Grammar) -> Number | None:
    whole, end = _cardinal(tokens, at, grammar)
    if whole is None:
        if tokens[at].text not in grammar.point:
            return None
        whole, end = 0, at
    value = float(whole)
    if end < len(tokens) and tokens[end].text in grammar.point:
        decimals, after = _decimals(tokens, end + 1, grammar)
        if decimals:
            value, end = float(f"{whole}.{decimals}"), after
    for half in grammar.halves:
        if tuple(t.text for t in tokens[end : end + len(half)]) == half:
            value, end = value + 0.5, end + len(half)
    if end == at or (end == at + 1 and tokens[at].text in grammar.point):
        return None
    text = " ".join(t.text for t in tokens[at:end])
    return Number(at, end, (value,), text, in_words=True, shy=end == at + 1 and tokens[at].text in grammar.shy)


def _cardinal(tokens: Sequence[Token], at: int, g: _Grammar) -> tuple[int | None, int]:
    """A whole number in words from `at`: its value, or None, and the token after it."""
    total = 0
    group: int | None = None
    last = 1000
    end = at
    while end < len(tokens):
        word = tokens[end].text
        if word in g.small and (value := _joined(group, last, g.small[word])) is not None:
            last = g.small[word]
            group = value
        elif word in g.hundreds and group is None:
            group, last = g.hundreds[word], 100
        elif word in g.hundred and (group is None or 0 < group < 20):
            group, last = 100 * (group or 1), 100
        elif word in g.thousand and total == 0 and (group is None or group > 0):
            total, group, last = 1000 * (group or 1), None, 1000
        elif (word in g.links or word == "-") and group is not None and end > at and _goes_on(tokens, end + 1, g, last):
            pass
        else:
            break
        end += 1
    if end == at:
        return None, at
    return total + (group or 0), end


def _joined(group: int | None, last: int, value: int) -> int | None:
    """`twenty` then `five`; `soixante` then `quinze`; `quatre` then `vingt`; `one` then `twenty`, dictated for 120."""
    if group is None:
        return value
    if group == 4 and value == 20 and last == 4:
        return 80
    if value == 0 or group == 0:
        return None
    if (
        (last == 10 and group % 10 == 0 and 7 <= value <= 9)
        or last == 100
        or (20 <= last <= 90 and value < 10)
        or (last in {60, 20} and group % 100 in {60, 80} and value < 20)
    ):
        return group + value
    if 1 <= group <= 9 and last == group and 20 <= value <= 90:
        return 100 * group + value
    return None


def _goes_on(tokens: Sequence[Token], at: int, g: _Grammar, last: int) -> bool:
    """Whether a link (`and`, `-`) is followed by a smaller part of the same number."""
    if at >= len(tokens) or last < 4:
        return False
    value = g.small.get(tokens[at].text)
    return value is not None and (last == 100 or value < max(last, 20) or (last == 4 and value == 20))


def _decimals(tokens: Sequence[Token], at: int, g: _Grammar) -> tuple[str, int]:
    digits = ""
    while at < len(tokens) and len(digits) < 3:
        text = tokens[at].text
        value = g.small.get(text)
        if tokens[at].kind == "number" and text.isdigit() and not digits:
            return text[:3], at + 1
        if value is None or value > 99 or (digits and value > 9):
            break
        digits += str(value)
        at += 1
    return digits, at

"""Which language a text is written in."""

import re
import unicodedata
from collections import Counter
from functools import cache, lru_cache

from bot.talk.understand.normalise import bare, normalise
from bot.talk.understand.words import table

_WORD = re.compile(r"[^\W\d_]+(?:'[^\W\d_]+)*")
_CHARS_READ = 600


@cache
def _words() -> dict[str, tuple[str, ...]]:
    """Each telling word, bare of accents, with its languages."""
    found: dict[str, list[str]] = {}
    for code, words in table("languages")["words"].items():
        for word in set(words.split()):
            for spelling in {bare(normalise(word)), normalise(word)}:
                if code not in found.setdefault(spelling, []):
                    found[spelling].append(code)
    return {word: tuple(codes) for word, codes in found.items()}


@cache
def _letters() -> dict[str, tuple[str, ...]]:
    found: dict[str, list[str]] = {}
    for code, letters in table("languages")["letters"].items():
        for letter in letters:
            found.setdefault(letter, []).append(code)
    return {letter: tuple(codes) for letter, codes in found.items()}


@lru_cache(maxsize=64)
def language(text: str) -> str | None:
    """The ISO 639-1 code of a text's language; None where too little speaks for one.

    Another script is its language; in Latin script ten European languages are told apart, by their commonest words.
    """
    plain = normalise(text)[:_CHARS_READ]
    if script := _script(plain):
        return script
    scores: Counter[str] = Counter()
    for word in _WORD.findall(plain):
        codes = _words().get(word, ())
        for code in codes:
            scores[code] += 12 // len(codes) if len(codes) < 4 else 2
    for letter in plain:
        for code in _letters().get(letter, ()):
            scores[code] += 4
    ranked = scores.most_common(2)
    if not ranked or ranked[0][1] < 6 or (len(ranked) > 1 and ranked[0][1] - ranked[1][1] < 3):
        return None
    return ranked[0][0]


def _script(plain: str) -> str | None:
    scripts: dict[str, str] = table("languages")["scripts"]
    seen: Counter[str] = Counter()
    latin = 0
    for letter in plain:
        if letter.isalpha():
            name = unicodedata.name(letter, "").split(" ")[0].split("-")[0]
            if name in scripts:
                seen[scripts[name]] += 1
            latin += name == "LATIN"
    if not seen:
        return None
    if seen["ja"]:
        return "ja"
    code, letters = seen.most_common(1)[0]
    return code if letters >= max(3, latin // 2) else None

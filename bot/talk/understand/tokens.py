"""A text as words, numbers and marks."""

import re
from dataclasses import dataclass
from functools import lru_cache
from typing import Literal

from bot.talk.understand.normalise import bare, normalise

_TOKEN = re.compile(
    r"(?P<number>\d+(?:[.,]\d+)*)"
    r"|(?P<word>[^\W\d_]+(?:'[^\W\d_]+)*)"
    r"|(?P<mark>->|[^\w\s]|_|\w)"
    r"|(?P<line>\n)"
)
_ELIDED = frozenset(
    ["l", "d", "n", "j", "m", "t", "s", "c", "qu", "jusqu", "lorsqu", "puisqu", "quelqu", "all", "dell", "nell", "un"]
)
_RUN_TOGETHER = {
    head + rest: [head, rest]
    for head, rests in {
        "l": "eau oeil oreille oreilles aspiration ecran eclairage electricite electricien escalier enfant interieur"
        " odeur alcalinite hopital echelle alarme appareil eclair orage acide",
        "d": "eau aspiration aller avoir etre evacuation acide algues enfants electricite",
        "j": "ai avais allume arrive entends essaie appelle ecris ouvre utilise",
        "c": "est etait",
        "n": "arrive arrete arretent",
        "s": "est etait allume arrete evanouit",
        "m": "evanouir endors",
        "qu": "il ils elles on",
    }.items()
    for rest in rests.split()
}
"""French words with the apostrophe left out, as thumbs type them: `jai`, `leau`, `loeil`."""
_SENTENCE_ENDS = frozenset(".!?\n;…")


@dataclass(frozen=True, slots=True)
class Token:
    """One word (bare of accents), number or mark; `sentence` counts the sentences before it."""

    text: str
    kind: Literal["word", "number", "mark"]
    glued: bool
    """True where no space stands before it."""
    sentence: int


@lru_cache(maxsize=64)
def tokens(text: str) -> tuple[Token, ...]:
    """The tokens of any text, normalised first."""
    found: list[Token] = []
    sentence = 0
    end = -1
    for match in _TOKEN.finditer(bare(normalise(text))):
        kind, literal, glued = match.lastgroup, match.group(), match.start() == end
        end = match.end()
        if kind == "number":
            found.append(Token(literal, "number", glued, sentence))
        elif kind == "word":
            for place, word in enumerate(split_word(literal)):
                found.append(Token(word, "word", glued or place > 0, sentence))
        elif not (found and found[-1].text == literal and glued):
            found.append(Token(literal, "mark", glued, sentence))
        if literal in _SENTENCE_ENDS:
            sentence += 1
    return tuple(found)


def split_word(literal: str) -> list[str]:
    """`l'eau` is two words, `don't` is one: `dont`."""
    if literal in _RUN_TOGETHER:
        return _RUN_TOGETHER[literal]
    head, apostrophe, rest = literal.partition("'")
    if apostrophe and head in _ELIDED:
        return [head, *split_word(rest)]
    return [literal.replace("'", "")]

"""What the net of last resort looks at in a text: words, pieces of words and concepts, each as a place in a table."""

from collections.abc import Iterator, Sequence
from zlib import crc32

from bot.talk.understand.scan import Scan, scan
from bot.talk.understand.tokens import Token

_LEAST_PIECE, _LONGEST_PIECE = 3, 5
_LONGEST_WORD = 24
_WINDOW, _STEP = 40, 25
"""Words looked at together: in a long text a danger must not drown among what is harmless."""


def windows(text: str, size: int) -> Iterator[list[int]]:
    """The places (0 to `size` - 1) of the traits of each stretch of a text."""
    scanned = scan(text)
    concepts = _concepts(scanned)
    last = max(len(scanned.tokens) - _WINDOW + _STEP, 1)
    for start in range(0, last, _STEP):
        stop = start + _WINDOW
        here = scanned.tokens[start:stop]
        names = {*_words(here, scanned, start), *_met(concepts, start, stop)}
        yield sorted({crc32(name.encode()) % size for name in names})


def _concepts(scanned: Scan) -> list[tuple[int, str]]:
    return sorted((hit.start, label) for label, hits in scanned.found.items() for hit in hits)


def _met(concepts: Sequence[tuple[int, str]], start: int, stop: int) -> Iterator[str]:
    """Concepts stand for themselves in every language, and two of them for what they make together."""
    labels = sorted({label for at, label in concepts if start <= at < stop})
    for place, label in enumerate(labels):
        yield f"c:{label}"
        for other in labels[place + 1 :]:
            yield f"c:{label}+{other}"


def _words(here: Sequence[Token], scanned: Scan, start: int) -> Iterator[str]:
    before = ["", ""]
    for place, token in enumerate(here, start):
        if token.kind == "mark":
            continue
        word = "0" if token.kind == "number" else token.text[:_LONGEST_WORD]
        mark = "not:" if place in scanned.denied else ""
        yield f"w:{mark}{word}"
        yield f"b:{before[1]} {word}"
        yield f"s:{before[0]} {word}"
        before = [before[1], word]
        if token.kind == "word" and len(word) > _LEAST_PIECE:
            yield from (f"p:{mark}{piece}" for piece in _pieces(f"_{word}_"))


def _pieces(word: str) -> Iterator[str]:
    for length in range(_LEAST_PIECE, _LONGEST_PIECE + 1):
        for at in range(len(word) - length + 1):
            yield word[at : at + length]

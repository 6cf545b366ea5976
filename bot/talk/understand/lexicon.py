"""Terms of a word table found in a text."""

import re
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field

from bot.talk.understand.normalise import bare, normalise
from bot.talk.understand.spelling import Speller
from bot.talk.understand.tokens import Token, split_word

_APART = re.compile(r"\d+|[°/€$£%<>]")
_PLAIN_TERM = re.compile(r"[a-z_*]+(?: [a-z_*]+)*")
_TWO_SPELLINGS = {"ä": "ae", "ö": "oe", "ü": "ue"}


@dataclass(frozen=True, slots=True)
class Hit:
    """A term in a text: its label, and the tokens from `start` up to `end`."""

    label: str
    start: int
    end: int


@dataclass(slots=True)
class _Node:
    labels: list[str] = field(default_factory=list)
    then: "dict[str, _Node]" = field(default_factory=dict)


class Lexicon:
    """Finds the terms of `table` (label to terms) among tokens.

    A term is one or more words separated by spaces; `*` ends a stem (`swallow*`), a lone `_` stands for any one word or
    number. Accents don't matter, German umlauts may be written out, hyphens between the words may be there or not.
    """

    def __init__(self, table: Mapping[str, Iterable[str]], ordinary: Iterable[str] = ()) -> None:
        self._root = _Node()
        entries: set[str] = set()
        for label, terms in table.items():
            for term in terms:
                for spelling in _spellings(term):
                    words = spelling.split()
                    entries.update(words)
                    self._put(words, label)
        self._speller = Speller(entries - {"_"}, ordinary)

    def _put(self, words: list[str], label: str) -> None:
        node = self._root
        for word in words:
            node = node.then.setdefault(word, _Node())
        if label not in node.labels:
            node.labels.append(label)

    def hits(self, tokens: Sequence[Token], *, forgiving: bool = True) -> list[Hit]:
        """Every occurrence of every term, in order of place, overlapping too; misspelt ones if `forgiving`."""
        return [hit for start in self._starts(tokens, forgiving) for hit in self._from(tokens, start, forgiving)]

    def at(self, tokens: Sequence[Token], start: int) -> list[Hit]:
        """The terms that begin at one token."""
        return list(self._from(tokens, start, forgiving=True))

    def longest(self, tokens: Sequence[Token]) -> list[Hit]:
        """Occurrences that do not overlap: the longest at each place, from the left."""
        chosen: list[Hit] = []
        for start in self._starts(tokens, forgiving=True):
            if not chosen or start >= chosen[-1].end:
                best = max(self._from(tokens, start, forgiving=True), key=lambda hit: hit.end, default=None)
                chosen += [best] if best else []
        return chosen

    def _starts(self, tokens: Sequence[Token], forgiving: bool) -> Iterator[int]:
        """Where a term may begin: at few of the tokens of a text."""
        first = self._root.then.keys()
        anywhere = "_" in first
        return (
            at for at, token in enumerate(tokens) if anywhere or not first.isdisjoint(self._meanings(token, forgiving))
        )

    def _meanings(self, token: Token, forgiving: bool) -> Collection[str]:
        return self._speller.meanings(token.text, forgiving) if token.kind == "word" else (token.text,)

    def _from(self, tokens: Sequence[Token], start: int, forgiving: bool) -> Iterator[Hit]:
        if tokens[start].text == "-":
            return
        stack = [(self._root, start)]
        seen: set[tuple[str, int]] = set()
        while stack:
            node, at = stack.pop()
            for label in node.labels:
                if (label, at) not in seen:
                    seen.add((label, at))
                    yield Hit(label, start, at)
            after_hyphen = at
            if node.then and at > start and at < len(tokens) and tokens[at].text == "-":
                after_hyphen = at + 1
            if node.then and after_hyphen < len(tokens):
                stack.extend((then, after_hyphen + 1) for then in self._step(node, tokens[after_hyphen], forgiving))

    def _step(self, node: _Node, token: Token, forgiving: bool) -> Iterator[_Node]:
        if "_" in node.then and token.kind != "mark":
            yield node.then["_"]
        for meaning in self._meanings(token, forgiving):
            if meaning in node.then:
                yield node.then[meaning]


def _spellings(term: str) -> set[str]:
    if _PLAIN_TERM.fullmatch(term):
        return {term}
    plain = normalise(term)
    written_out = plain
    for umlaut, pair in _TWO_SPELLINGS.items():
        written_out = written_out.replace(umlaut, pair)
    return {_as_typed(plain), _as_typed(written_out)}


def _as_typed(term: str) -> str:
    words = _APART.sub(r" \g<0> ", bare(term).replace("-", " ")).split()
    return " ".join(part for word in words for part in split_word(word))

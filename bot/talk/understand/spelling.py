"""Which entries of a word table a typed word can stand for: itself, a stem of it, or a near miss."""

from collections.abc import Iterable, Iterator
from functools import cached_property, lru_cache

_SHORTEST_FORGIVEN = 5
_LONGEST_STEM = 16


def squeezed(word: str) -> str:
    """Doubled letters single: `swalllowed` and `swalowed` are `swalowed`."""
    return "".join(c for i, c in enumerate(word) if i == 0 or word[i - 1] != c)


def near(a: str, b: str) -> bool:
    """Whether one insertion, deletion, replacement or swap of neighbours makes `a` into `b`."""
    if a == b:
        return True
    if abs(len(a) - len(b)) > 1:
        return False
    start = next((i for i, (x, y) in enumerate(zip(a, b, strict=False)) if x != y), min(len(a), len(b)))
    rest_a, rest_b = a[start:], b[start:]
    return (
        rest_a[1:] == rest_b[1:]
        or rest_a[1:] == rest_b
        or rest_a == rest_b[1:]
        or (rest_a[:2] == rest_b[1::-1] and rest_a[2:] == rest_b[2:])
    )


class Speller:
    """Looks typed words up among `entries`: whole words, or stems written `burn*`.

    A word of five letters or more may differ by one letter, two neighbours may be swapped, letters may be doubled or
    not; its first letter must be right. Words in `ordinary` are never taken for misspellings.
    """

    def __init__(self, entries: Iterable[str], ordinary: Iterable[str] = ()) -> None:
        self._entries = frozenset(entries)
        self._ordinary = frozenset(ordinary)
        self._stem_lengths = sorted({len(e) - 1 for e in self._entries if e.endswith("*")})
        self.meanings = lru_cache(maxsize=8192)(self._meanings)

    @cached_property
    def _by_shape(self) -> dict[str, list[str]]:
        """Entries by their letters with one left out: built where a misspelling is first looked up, since a text asks
        that of its own language only.
        """
        shapes: dict[str, list[str]] = {}
        for entry in self._entries:
            core = squeezed(entry.removesuffix("*"))
            if len(core) >= _SHORTEST_FORGIVEN - 1:
                for shape in {core, *_with_one_gone(core)}:
                    shapes.setdefault(shape, []).append(entry)
        return shapes

    def _meanings(self, word: str, forgiving: bool) -> frozenset[str]:
        exact = {word} & self._entries
        exact.update(stem for n in self._stem_lengths if n <= len(word) and (stem := word[:n] + "*") in self._entries)
        if word in exact or not forgiving or word in self._ordinary or len(word) < _SHORTEST_FORGIVEN or len(word) > 40:
            return frozenset(exact)
        near_misses = self._closest(squeezed(word))
        return frozenset(exact.union(e for e in near_misses if not exact or not e.endswith("*")))

    def _closest(self, word: str) -> frozenset[str]:
        """Entries that differ by doubled letters only, else those that differ by one letter."""
        forgiven = frozenset(self._forgiven(word))
        return frozenset(e for e in forgiven if squeezed(e) == word) or forgiven

    def _forgiven(self, word: str) -> Iterator[str]:
        heads = {word[:n] for n in range(_SHORTEST_FORGIVEN - 1, min(len(word), _LONGEST_STEM) + 1)}
        for head in heads:
            whole = head == word
            for shape in (head, *_with_one_gone(head)):
                for entry in self._by_shape.get(shape, ()):
                    core = squeezed(entry.removesuffix("*"))
                    is_stem = entry.endswith("*")
                    if (whole or is_stem) and core[0] == head[0] and _forgivable(head, core):
                        yield entry


def _forgivable(typed: str, meant: str) -> bool:
    if typed == meant:
        return True
    return min(len(typed), len(meant)) >= _SHORTEST_FORGIVEN and near(typed, meant)


def _with_one_gone(word: str) -> list[str]:
    return [word[:i] + word[i + 1 :] for i in range(len(word))]

"""Short replies: yes and no, the button that was meant, and the commands that work at any time."""

from collections.abc import Sequence
from dataclasses import replace
from functools import cache, lru_cache
from typing import Literal, get_args

from bot.talk.understand.lexicon import Hit, Lexicon
from bot.talk.understand.normalise import bare, normalise
from bot.talk.understand.numerals import numbers
from bot.talk.understand.spelling import near, squeezed
from bot.talk.understand.tokens import Token, tokens
from bot.talk.understand.words import table

CommandName = Literal[
    "test", "start", "back", "restart_flow", "cancel", "tub", "history", "pause", "stop", "erase", "export", "help",
    "open", "person", "fill", "refill", "soaked", "card", "dose", "chart", "calendar", "new_strips", "better_ph",
    "quiet", "units", "reminders", "settings", "household", "tubs", "hand_on",
    "language", "language:en", "language:es", "language:fr", "language:de", "language:it", "language:pt",
    "language:nl", "language:pl", "language:sv", "language:ru",
]  # fmt: skip
"""What can be asked for at any time; `language` alone asks which."""
COMMANDS: tuple[CommandName, ...] = get_args(CommandName)

_LONGEST_COMMAND = 9
_SHORT_WORDS = frozenset(["hell", "held", "stoop", "sopt", "hep", "his", "fil", "ope", "hop", "ayud"])
_NEGATED = frozenset(["not", "dont", "no", "never", "nicht", "kein", "keine", "pas", "non", "nunca"])


@cache
def _commands() -> Lexicon:
    words = table("replies")
    ordinary = (
        "testing",
        "stops",
        "backs",
        "tubs",
        "started",
        "pauses",
        "shop",
        "step",
        "steps",
        "ayer",
        "hell",
        "opens",
        "pool",
        "heat",
        "changed",
    )
    return Lexicon(words["commands"], ordinary)


@cache
def _agreement() -> Lexicon:
    agree = table("replies")["agree"]
    return Lexicon({"yes": agree["yes"], "no": agree["no"]})


@cache
def _polite() -> Lexicon:
    return Lexicon({"polite": table("replies")["agree"]["polite"]})


@cache
def _choosing() -> Lexicon:
    return Lexicon({"choosing": table("replies")["choosing"]["words"]})


@cache
def _around_a_label() -> Lexicon:
    return Lexicon({"around": [*table("replies")["choosing"]["around"], *table("replies")["agree"]["yes"]]})


@cache
def _unsure() -> Lexicon:
    return Lexicon({"unsure": table("replies")["agree"]["unsure"]})


@cache
def _later() -> Lexicon:
    return Lexicon({"later": table("replies")["agree"]["later"]})


@cache
def _taking_back() -> Lexicon:
    return Lexicon({"not": table("negation")["negators"], "unless": table("replies")["choosing"]["unless"]})


@cache
def _languages() -> Lexicon:
    return Lexicon(table("replies")["language_names"])


@lru_cache(maxsize=64)
def command(text: str) -> CommandName | None:
    """The command that the whole text is, politeness and small typos forgiven; None for anything longer or else."""
    words = [t for t in tokens(text) if t.kind != "mark" or t.text in {"/", "?", "-"}]
    if words and words[0].text == "/":
        return _slash([t.text for t in words[1:]])
    if [t.text for t in words] in (["?"], ["?", "?"]):
        return "help"
    words = [t for t in words if t.text not in {"/", "?", "-"}]
    if not words or len(words) > _LONGEST_COMMAND:
        return None
    return _language(words) or _whole(words)


def _slash(words: list[str]) -> CommandName | None:
    head = "".join(words[:1])
    known: dict[str, CommandName] = table("replies")["slash"]
    if head in {"language", "lang", "idioma", "langue", "sprache"}:
        code = next((c for c in COMMANDS if c == f"language:{''.join(words[1:2])}"), None)
        return code or _language(tokens(" ".join(words[1:]))) or "language"
    joined = "".join(words[:3])
    return known.get(joined) or known.get(head) or command(" ".join(words))


def _language(words: Sequence[Token]) -> CommandName | None:
    hits = _languages().longest(words)
    named = [h for h in hits if h.label != "change"]
    if len(named) == 1 and _only_polite(words, hits):
        return next((c for c in COMMANDS if c == f"language:{named[0].label}"), None)
    whole = {"language", "langue", "idioma", "sprache"} & {t.text for t in words}
    return "language" if not named and whole and _only_polite(words, hits) else None


def _whole(words: Sequence[Token]) -> CommandName | None:
    hits = sorted(_commands().hits(words), key=lambda h: h.start - h.end)
    for hit in hits:
        if _only_polite(words, [hit]) and not _denied(words, hit):
            return next(c for c in COMMANDS if c == hit.label)
    return _short_slip(words[0].text) if len(words) == 1 else None


def _short_slip(word: str) -> CommandName | None:
    """`tets`, `hlp`, `sttop`: a short command alone, with a letter too many, too few, or swapped."""
    slips: set[str] = set()
    for label, terms in table("replies")["commands"].items():
        for term in terms:
            swapped = len(term) == len(word) and sorted(term) == sorted(word)
            if len(term) == 4 and term[0] == word[0] and near(term, word) and (swapped or len(term) != len(word)):
                slips.add(label)
    found = slips.pop() if len(slips) == 1 and len(word) >= 3 and word not in _SHORT_WORDS else None
    return next((c for c in COMMANDS if c == found), None)


def _denied(words: Sequence[Token], hit: Hit) -> bool:
    return any(t.text in _NEGATED for t in words[: hit.start])


def _only_polite(words: Sequence[Token], hits: Sequence[Hit]) -> bool:
    """Whether everything outside the hits is politeness."""
    taken = {i for hit in hits for i in range(hit.start, hit.end)}
    taken |= {i for hit in _polite().hits(words) for i in range(hit.start, hit.end)}
    return len(taken) == len(words)


def agree(text: str) -> bool | None:
    """Yes (True) or no (False), where the text is that and nothing more of weight; None when it is neither or both."""
    words = [t for t in tokens(text) if t.kind == "word" or (t.kind == "mark" and t.text not in ".,!?;:-'\"()\n…/")]
    if not words or len(words) > 8:
        return None
    hits = _agreement().longest(words) or _agreement().longest([replace(t, text=squeezed(t.text)) for t in words])
    if not hits:
        return None
    no = [h for h in hits if h.label == "no"]
    yes = [h for h in hits if h.label == "yes"]
    if not _only_polite([t for t in words if t.kind == "word"], _shifted(words, hits)):
        return None
    if no and yes:
        return False if no[0].start < yes[0].start and len(words) <= 3 else None
    return not no


def unsure(text: str) -> bool:
    """Whether a text says that its writer does not know, and nothing more of weight: `je ne sais pas`, `no idea`."""
    return _says_only(_unsure(), text)


def later(text: str) -> bool:
    """Whether a text puts something off, and says nothing more of weight: `plus tard`, `tomorrow please`."""
    return _says_only(_later(), text)


def _says_only(what: Lexicon, text: str) -> bool:
    words = [t for t in tokens(text) if t.kind == "word"]
    hits = what.hits(words)
    return bool(hits) and len(words) <= 8 and _only_polite(words, hits)


def _shifted(words: Sequence[Token], hits: Sequence[Hit]) -> list[Hit]:
    """The same hits counted over the words alone, marks left out."""
    places = {old: new for new, old in enumerate(i for i, t in enumerate(words) if t.kind == "word")}
    inner = [[places[i] for i in range(h.start, h.end) if i in places] for h in hits]
    return [Hit(h.label, new[0], new[-1] + 1) for h, new in zip(hits, inner, strict=True) if new]


def option(text: str, labels: Sequence[str]) -> int | None:
    """Index of the button label that a text means: exactly, by its start, by its words, by its place ("2"), or nearly.

    None where nothing or more than one fits. A label that is itself a number goes before a place.
    """
    wanted = _plain(text)
    if not wanted:
        return None
    plain = [_plain(label) for label in labels]
    for fits in (_same, _same_number, _begins, _is_part, _nearly):
        found = [i for i, label in enumerate(plain) if label and fits(wanted, label)]
        if found:
            return found[0] if len(found) == 1 else None
    if "?" not in text:
        told = [i for i, label in enumerate(plain) if label and _says(wanted, label, place=i)]
        told = told or [i for i, label in enumerate(labels) if _opens_with(text, label)]
        if told:
            return told[0] if len(told) == 1 else None
    return _place(text, plain)


def _plain(text: str) -> str:
    return " ".join(t.text for t in tokens(text) if t.kind != "mark" or t.text in "<>+-") or bare(normalise(text))


def _same(wanted: str, label: str) -> bool:
    return wanted == label


def _same_number(wanted: str, label: str) -> bool:
    return wanted.replace(",", ".") == label.replace(",", ".")


def _begins(wanted: str, label: str) -> bool:
    return len(wanted) >= 2 and not wanted[0].isdigit() and label.startswith(wanted)


def _is_part(wanted: str, label: str) -> bool:
    """`three days` for "In three days"."""
    return len(wanted) >= 2 and len(wanted.split()) <= 6 and f" {wanted} " in f" {label} "


def _says(wanted: str, label: str, *, place: int) -> bool:
    """`metric please` for "Metric", `2. stuck` for the second, `ya lo he hecho` for "Hecho": the label, and beside it
    nothing of weight. `il fait 41` is not "Fait", `no calienta` is not "No", and a Spanish `si` is mostly an if.
    """
    before, found, after = f" {wanted} ".partition(f" {label} ")
    if not found or len(label) < 2:
        return False
    rest = tokens(f"{before.strip().removeprefix(str(place + 1))} {after}")
    if agree(label) is False or len(label) <= 3:
        return _only_polite(rest, [])
    return _only_polite(rest, _around_a_label().hits(rest, forgiving=False))


def _opens_with(text: str, label: str) -> bool:
    """`sí, se ve` for "Sí" and `no, nobody` for "No": what stands before a comma answers, whatever follows but a number
    or what takes it back.
    """
    head, mark, rest = text.partition(",")
    said = agree(label)
    after = tokens(rest)
    if not mark or said is None or _plain(head) != _plain(label) or any(t.kind == "number" for t in after):
        return False
    return not said or not _taking_back().hits(after, forgiving=False)


def _nearly(wanted: str, label: str) -> bool:
    a, b = squeezed(wanted), squeezed(label)
    return not any(c.isdigit() for c in a + b) and min(len(a), len(b)) >= 4 and near(a, b)


def _place(text: str, labels: Sequence[str]) -> int | None:
    """`2`, `the second one`: only where no label is a number itself, and where the text says nothing else: an article
    that could be a one (`tengo un sarpullido`) chooses nothing.
    """
    if any(any(c.isdigit() for c in label) for label in labels):
        return None
    words = [t for t in tokens(text) if t.kind != "mark"]
    ordinals = {w: i for i, group in enumerate(table("times")["ordinals"]["places"]) for w in group}
    named = [Hit(str(ordinals[t.text]), i, i + 1) for i, t in enumerate(words) if t.text in ordinals]
    if not named:
        named = [Hit(str(int(n.value) - 1), n.start, n.end) for n in numbers(words) if n.value == int(n.value)]
    if len(named) != 1 or not _only_polite(words, [*named, *_choosing().hits(words)]):
        return None
    place = int(named[0].label)
    return place if 0 <= place < len(labels) else None

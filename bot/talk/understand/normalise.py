"""One plain form for whatever a thumb, a voice or another script's keyboard produced."""

import re
import unicodedata
from functools import cache

MAX_CHARS = 4096

_BEFORE = str.maketrans(
    {
        **dict.fromkeys("’‘‛ʼ`´′＇", "'"),
        **dict.fromkeys("−‐‑‒–—﹣－", "-"),
        **dict.fromkeys("º˚", "°"),
        **dict.fromkeys("٫", "."),
        **dict.fromkeys("٬", ","),
        "·": ".",
        "→": " -> ",
        "≈": "~",
        "≤": "<",
        "≥": ">",
    }
)
_STRIPPED_LETTERS = str.maketrans({"ł": "l", "ø": "o", "đ": "d", "ı": "i", "æ": "ae", "œ": "oe", "ð": "d", "þ": "th"})
_SPACES = re.compile(r"[^\S\n]+")
_BREAKS = re.compile(r"\s*\n\s*")


def normalise(text: str) -> str:
    """The text with one kind of digit, decimal mark, minus and space, folded in case, at most 4,096 characters.

    Zero-width characters and bidirectional controls are dropped; line breaks stay, because they end a sentence.
    Applying it twice changes nothing.
    """
    text = _vulgar_fractions(text[: 2 * MAX_CHARS].translate(_BEFORE))
    for _ in range(6):
        folded = _once(text)
        if folded == text:
            break
        text = folded
    return text[:MAX_CHARS].rstrip()


def bare(text: str) -> str:
    """Normalised text without accents, for comparing with word tables: `fünf` is `funf`, `fièvre` is `fievre`."""
    if text.isascii():
        return text
    decomposed = unicodedata.normalize("NFD", text)
    return "".join(c for c in decomposed if unicodedata.category(c) != "Mn").translate(_STRIPPED_LETTERS)


def _once(text: str) -> str:
    text = unicodedata.normalize("NFKC", unicodedata.normalize("NFKC", text).casefold())
    text = "".join(map(_plain, text)).translate(_BEFORE)
    text = text.replace("\r", "\n").replace("\u2028", "\n").replace("\u2029", "\n")
    return _BREAKS.sub("\n", _SPACES.sub(" ", text)).strip()


def _plain(char: str) -> str:
    if char.isascii():
        return char if char >= " " or char in "\n\r\t" else " "
    category = unicodedata.category(char)
    if category == "Nd":
        return str(unicodedata.digit(char))
    if category in {"Cf", "Cs", "Co", "Cn"} or "\ufe00" <= char <= "\ufe0f":
        return ""
    return " " if category in {"Zs", "Cc"} else char


@cache
def _decimals(fraction: str) -> str:
    """`½` as `.5`."""
    return f"{unicodedata.numeric(fraction):.3g}".removeprefix("0")


def _vulgar_fractions(text: str) -> str:
    if text.isascii():
        return text
    parts: list[str] = []
    for char in text:
        if unicodedata.category(char) == "No" and "VULGAR FRACTION" in unicodedata.name(char, ""):
            decimals = _decimals(char)
            after_digit = bool(parts) and parts[-1][-1:].isdigit()
            parts.append(decimals if after_digit else f"0{decimals}")
        else:
            parts.append(char)
    return "".join(parts)

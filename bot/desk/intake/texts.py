"""Names, phone numbers, addresses and the other words of a row."""

import re
from dataclasses import dataclass
from functools import lru_cache

import phonenumbers

from bot.desk.intake.columns import EMAIL, bare, meanings
from bot.desk.intake.table import Cell, Formula
from bot.desk.leaving import MARKS_OF_FORMULAS

LEAST_DIGITS = 6
"""Of a phone number with its area code; a shorter part of a cell belongs to the number beside it (0171/3920012)."""
_YEAR = re.compile(r"[\s,/(\[-]+((?:19|20)\d\d)[)\]]?$")
_ROUNDED = re.compile(r"\d(?:[.,]\d+)?E\+?\d+", re.IGNORECASE)
_SEVERAL = re.compile(r"\s*(?:/|;|\bor\b|\boder\b|\bou\b|\n)\s*")


@dataclass(frozen=True, slots=True)
class Read:
    """What a cell says; empty with the `code` of what is wrong. A `code` beside a value is a doubt about it."""

    value: str = ""
    code: str = ""
    said: str = ""


def text_of(cell: Cell) -> str:
    """A cell as one line of text."""
    if isinstance(cell, Formula):
        return ""
    if isinstance(cell, float):
        return f"{cell:.0f}" if cell == int(cell) else f"{cell:g}"
    return " ".join(str(cell).split()) if cell else ""


def read_name(text: str) -> Read:
    """A name, unless it is none: blank, a dash, `n/a`, `Mrs` alone, a phone number."""
    words = bare(text)
    if not words:
        return Read("", "name_missing", text)
    if not any(mark.isalpha() for mark in words):
        return Read("", "name_is_number" if sum(map(str.isdigit, words)) >= 5 else "name_missing", text)
    if EMAIL.fullmatch(text):
        return Read("", "name_is_email", text)
    lists = meanings()["junk"]
    if words in lists["names"] or all(word in lists["courtesies"] for word in words.split()):
        return Read("", "name_missing", text)
    if text.startswith(MARKS_OF_FORMULAS):
        return Read(text[:120], "name_formula", text)
    return Read(text[:120])


@lru_cache(maxsize=4096)
def read_phone(text: str, country: str) -> Read:
    """A phone number in E.164 form; `country` (ISO 3166, two letters) is where a number without its own is of."""
    if not text:
        return Read()
    if _ROUNDED.fullmatch(text):
        return Read("", "phone_rounded", text)
    parts = _SEVERAL.split(text)
    if any(sum(map(str.isdigit, part)) < LEAST_DIGITS for part in parts):
        parts = [text]
    first = parts[0]
    if any(mark.isalpha() for mark in re.sub(r"(?i)\b(?:ext|x|tel|mob|mobil|handy|privat|p|m)\b\.?", "", first)):
        return Read("", "phone_unreadable", text)
    found = _parsed(first, country)
    if found is None:
        return Read("", "phone_unreadable" if country else "phone_country", text)
    value = str(phonenumbers.format_number(found, phonenumbers.PhoneNumberFormat.E164))
    if len(parts) > 1:
        return Read(value, "phone_second", text)
    return Read(value)


def _parsed(text: str, country: str) -> "phonenumbers.PhoneNumber | None":
    digits = re.sub(r"\D", "", text)
    tries = (
        [(text, country)]
        if text.lstrip("( ").startswith(("+", "0")) or not country
        else [("+" + digits, None), (text, country)]
    )
    found = []
    for number, region in tries:
        try:
            found.append(phonenumbers.parse(number, region or None))
        except phonenumbers.NumberParseException:
            continue
    long_enough = [number for number in found if number.national_number >= 10 ** (LEAST_DIGITS - 1)]
    possible = [number for number in long_enough if phonenumbers.is_possible_number(number)]
    if len(possible) < 2:
        return next(iter(possible), None)
    valid = [number for number in possible if phonenumbers.is_valid_number(number)]
    own = phonenumbers.country_code_for_region(country) if country else 0
    if len(valid) > 1 or (len(possible) > 1 and not valid):
        same = [number for number in (valid or possible) if number.country_code == own]
        return same[0] if same else possible[0]
    return next(iter(valid or possible), None)


def read_email(text: str) -> Read:
    """An e-mail address in lower case."""
    if not text:
        return Read()
    found = text.strip("<>\"' ").removeprefix("mailto:").lower()
    return Read(found) if EMAIL.fullmatch(found) and len(found) <= 254 else Read("", "email_unreadable", text)


def read_word(text: str, listed: str) -> Read:
    """A word of a list (`sanitizers`, `languages`) as what it stands for."""
    words = bare(text)
    if not words:
        return Read()
    for value, names in meanings()[listed].items():
        if words in names or any(word in names for word in words.split()):
            return Read(value)
    return Read("", f"{listed.removesuffix('s')}_unknown", text)


def read_serial(text: str) -> Read:
    """A serial number, upper case and without spaces."""
    found = re.sub(r"\s+", "", text).upper()
    if found and (bare(text) in meanings()["junk"]["names"] or not any(mark.isalnum() for mark in found)):
        return Read("", "serial_missing", text)
    if _ROUNDED.fullmatch(found):
        return Read("", "serial_rounded", text)
    return Read(found[:60])


@dataclass(frozen=True, slots=True)
class Model:
    """A model's name as written, tidied, and the year that stood behind it."""

    name: str = ""
    year: int | None = None


def read_model(text: str) -> Model:
    """A model without stray spaces; a year at its end is split off."""
    tidy = re.sub(r"[‐‑‒–—−]", "-", text).strip(" .,;/-")
    if not bare(tidy) or bare(tidy) in meanings()["junk"]["names"]:
        return Model()
    year = _YEAR.search(tidy)
    return (
        Model(tidy[: year.start()].strip(" ,/(-")[:80], int(year[1])) if year and year.start() > 0 else Model(tidy[:80])
    )


def same_model(name: str) -> str:
    """What two spellings of one model have in common for certain: case and spaces."""
    return " ".join(name.casefold().split())


def alike_model(name: str) -> str:
    """What two spellings of one model have in common in all likelihood: its letters and figures, without `model`."""
    words = bare(name).split()
    kept = [word for word in words if word not in meanings()["junk"]["generic"]]
    return "".join(kept or words)

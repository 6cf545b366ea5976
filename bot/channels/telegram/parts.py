"""A message as the service takes it: in parts that are short enough, escaped, with buttons below the last one."""

import html
import unicodedata

from telegram import InlineKeyboardButton, InlineKeyboardMarkup

from bot.model.message import Button

LONGEST = 4096
"""Most UTF-16 units of one message after its markup is read (the service's published limit)."""
WIDEST = 8
"""Most buttons in a row."""
JOINER = "\u200d"


def units(text: str) -> int:
    """Length in UTF-16 units: a character outside the basic plane counts twice."""
    return len(text) + sum(character > "\uffff" for character in text)


def split(text: str, longest: int = LONGEST) -> list[str]:
    """Cut a text into parts of at most `longest` UTF-16 units: at line ends, else at blanks, else between characters.

    No part is blank or begins or ends with a line end; an empty list means that there is nothing to say.
    """
    parts = []
    rest = text.strip()
    while units(rest) > longest:
        cut = _cut(rest, _fitting(rest, longest))
        if part := rest[:cut].rstrip():
            parts.append(part)
        rest = rest[cut:].lstrip()
    return [*parts, rest] if rest else parts


def _fitting(text: str, longest: int) -> int:
    """How many characters fit."""
    used = 0
    for index, character in enumerate(text):
        used += 2 if character > "\uffff" else 1
        if used > longest:
            return index
    return len(text)


def _cut(text: str, fitting: int) -> int:
    """Where to cut: at the last line end, the last blank, or behind the last whole character."""
    window = text[: fitting + 1]
    for mark in ("\n", " "):
        if (at := window.rfind(mark)) > 0:
            return at
    at = fitting
    while at > 1 and _belongs_to_the_left(text, at):
        at -= 1
    return at if at > 1 else fitting


def _belongs_to_the_left(text: str, at: int) -> bool:
    return text[at] == JOINER or text[at - 1] == JOINER or unicodedata.category(text[at]) in {"Mn", "Me", "Mc"}


def escaped(text: str) -> str:
    """Plain text as the service's HTML."""
    return html.escape(text, quote=False)


def keyboard(rows: tuple[tuple[Button, ...], ...]) -> InlineKeyboardMarkup | None:
    """Buttons below a message; a row that is too wide is broken."""
    pieces = [row[at : at + WIDEST] for row in rows for at in range(0, len(row), WIDEST)]
    if not pieces:
        return None
    return InlineKeyboardMarkup(
        [[InlineKeyboardButton(button.label, callback_data=button.data) for button in row] for row in pieces]
    )

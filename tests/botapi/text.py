"""Formatted text as the service reads it: HTML to text and entities, lengths in UTF-16 units."""

import re
from dataclasses import dataclass

from tests.botapi.errors import Json, bad_request

TEXT_LIMIT = 4096
CAPTION_LIMIT = 1024

KINDS = {
    "b": "bold",
    "strong": "bold",
    "i": "italic",
    "em": "italic",
    "u": "underline",
    "ins": "underline",
    "s": "strikethrough",
    "strike": "strikethrough",
    "del": "strikethrough",
    "tg-spoiler": "spoiler",
    "span": "spoiler",
    "a": "text_link",
    "code": "code",
    "pre": "pre",
    "blockquote": "blockquote",
    "tg-emoji": "custom_emoji",
}
NAMED = {"lt": "<", "gt": ">", "amp": "&", "quot": '"'}
CHARACTER = re.compile(r"&(?:#x([0-9a-fA-F]{1,6})|#([0-9]{1,7})|(lt|gt|amp|quot));")
ATTRIBUTE = re.compile(r"""\s+([A-Za-z-]+)(?:\s*=\s*("[^"]*"|'[^']*'|[A-Za-z0-9.\-]+))?""")
COMMAND = re.compile(r"(?<![\w/])/[A-Za-z0-9_]{1,64}(?:@[A-Za-z0-9_]{3,32})?(?!\w)")


def units(text: str) -> int:
    """Length in UTF-16 code units, the service's measure."""
    return len(text.encode("utf-16-le")) // 2


@dataclass
class _Open:
    tag: str
    offset: int
    extra: Json


def parse_html(source: str) -> tuple[str, list[Json]]:
    """The plain text and its entities; 400 with the byte offset where the markup is wrong."""
    text: list[str] = []
    length = 0
    entities: list[Json] = []
    stack: list[_Open] = []
    at = 0
    while at < len(source):
        if source[at] == "<":
            at = _tag(source, at, length, stack, entities)
            continue
        piece, at = _character(source, at)
        text.append(piece)
        length += units(piece)
    if stack:
        raise _wrong(f'Can\'t find end tag corresponding to start tag "{stack[-1].tag}"')
    return "".join(text), sorted(entities, key=lambda entity: (entity["offset"], -entity["length"]))


def _character(source: str, at: int) -> tuple[str, int]:
    if source[at] == "&" and (found := CHARACTER.match(source, at)):
        hexadecimal, decimal, name = found.groups()
        if name:
            return NAMED[name], found.end()
        code = int(hexadecimal, 16) if hexadecimal else int(decimal)
        if 0 < code <= 0x10FFFF and not 0xD800 <= code <= 0xDFFF:
            return chr(code), found.end()
    return source[at], at + 1


def _tag(source: str, at: int, length: int, stack: list[_Open], entities: list[Json]) -> int:
    byte = len(source[:at].encode())
    closing = source.startswith("</", at)
    end = source.find(">", at)
    if closing and not stack:
        raise _wrong(f"Unexpected end tag at byte offset {byte}")
    if end < 0:
        raise _wrong(f"Unclosed {'end' if closing else 'start'} tag at byte offset {byte}")
    if closing:
        _close(source[at + 2 : end].strip().lower(), byte, length, stack, entities)
    else:
        stack.append(_opened(source[at + 1 : end], byte, length))
    return end + 1


def _opened(inside: str, byte: int, length: int) -> _Open:
    name = re.split(r"\s", inside, maxsplit=1)[0].lower()
    if name not in KINDS:
        raise _wrong(f'Unsupported start tag "{name}" at byte offset {byte}')
    attributes = {key.lower(): value.strip("\"'") for key, value in ATTRIBUTE.findall(inside)}
    if name == "span" and attributes.get("class") != "tg-spoiler":
        raise _wrong(f'Tag "span" must have class "tg-spoiler" at byte offset {byte}')
    if name == "tg-emoji" and not attributes.get("emoji-id"):
        raise _wrong(f'Tag "tg-emoji" must have attribute "emoji-id" at byte offset {byte}')
    extra: Json = {}
    if name == "a":
        extra = {"url": "".join(_decoded(attributes.get("href", "")))}
    elif name == "code" and attributes.get("class", "").startswith("language-"):
        extra = {"language": attributes["class"].removeprefix("language-")}
    return _Open(name, length, extra)


def _decoded(value: str) -> list[str]:
    pieces, at = [], 0
    while at < len(value):
        piece, at = _character(value, at)
        pieces.append(piece)
    return pieces


def _close(name: str, byte: int, length: int, stack: list[_Open], entities: list[Json]) -> None:
    opened = stack.pop()
    if name and name != opened.tag:
        raise _wrong(f'Unmatched end tag at byte offset {byte}, expected "</{opened.tag}>", found "</{name}>"')
    if length == opened.offset or (opened.tag == "a" and not opened.extra["url"]):
        return
    entity = {"type": KINDS[opened.tag], "offset": opened.offset, "length": length - opened.offset}
    entities.append(entity | opened.extra)


def _wrong(text: str) -> Exception:
    return bad_request(f"can't parse entities: {text}")


def commands(text: str) -> list[Json]:
    """Entities that mark the commands in what a person wrote."""
    return [
        {"type": "bot_command", "offset": units(text[: found.start()]), "length": units(found.group())}
        for found in COMMAND.finditer(text)
    ]


def trimmed(text: str, entities: list[Json]) -> tuple[str, list[Json]]:
    """The text without blank ends, its entities moved and cut to fit."""
    left = text.lstrip()
    shift = units(text) - units(left)
    left = left.rstrip()
    length = units(left)
    kept = []
    for entity in entities:
        begin = max(0, entity["offset"] - shift)
        end = min(length, entity["offset"] - shift + entity["length"])
        if end > begin:
            kept.append(entity | {"offset": begin, "length": end - begin})
    return left, kept

"""The script of a rehearsal: what one line says. Nothing here does anything."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from zoneinfo import ZoneInfo

from bot.model.zones import check_zone


class BadLine(Exception):
    """A line of a script cannot be played; the message says what is wrong with it and what would be right."""


@dataclass(frozen=True, slots=True)
class At:
    """The clock and the dealer's zone."""

    moment: datetime
    zone: str


@dataclass(frozen=True, slots=True)
class Cast:
    """Somebody who takes part."""

    part: str
    name: str
    traits: Mapping[str, str]


@dataclass(frozen=True, slots=True)
class History:
    """Something that happened before the conversation begins. `when` is local time of the script's zone."""

    name: str
    when: datetime
    what: str


@dataclass(frozen=True, slots=True)
class Says:
    """Somebody writes."""

    name: str
    text: str


@dataclass(frozen=True, slots=True)
class Taps:
    """Somebody taps the button of that label."""

    name: str
    label: str


@dataclass(frozen=True, slots=True)
class Answers:
    """Somebody answers the open question of that key."""

    name: str
    key: str
    value: str


@dataclass(frozen=True, slots=True)
class Sends:
    """Somebody sends a file, perhaps with a caption."""

    name: str
    file: str
    caption: str


@dataclass(frozen=True, slots=True)
class Blocks:
    """Somebody blocks the bot, or lets it in again."""

    name: str
    blocked: bool


@dataclass(frozen=True, slots=True)
class Passes:
    """Time passes."""

    span: timedelta


@dataclass(frozen=True, slots=True)
class Restart:
    """Everything in memory is dropped."""


Line = At | Cast | History | Says | Taps | Answers | Sends | Blocks | Passes | Restart

PARTS = ("dealer", "tech", "owner", "stranger", "invited", "group")
_SPANS = {"m": "minutes", "h": "hours", "d": "days", "w": "weeks"}
_NAME = r"[^\s:\[\]<#=]+"


def parse(text: str) -> Line | None:
    """What a line says; None for an empty one and a comment. BadLine says what is wrong."""
    text = text.strip()
    if not text or text.startswith("#"):
        return None
    verb, _, rest = text.partition(" ")
    if verb in _VERBS and not rest.startswith(("[", "<")):
        return _VERBS[verb](rest.strip())
    for pattern, make in _DEEDS:
        if found := re.fullmatch(pattern, text):
            return make(*(group or "" for group in found.groups()))
    raise BadLine(
        f"{text!r} is no line of a script: a line begins with at, cast, journal, wait or restart, "
        "or with a name: `Ada: hello`, `Ada [Done]`, `Ada answer ph 7.4`, `Ada < photo.jpg`, `Ada blocks`"
    )


def _at(rest: str) -> At:
    stamp, _, name = rest.partition(" ")
    try:
        zone = ZoneInfo(check_zone(name.strip()))
    except ValueError as wrong:
        raise BadLine(f"{wrong}, as in `at 2027-03-01T09:00 America/Chicago`") from None
    return At(local(stamp, zone), name.strip())


def local(stamp: str, zone: ZoneInfo) -> datetime:
    """A moment written as local time (or with an offset of its own). BadLine where it is none."""
    try:
        moment = datetime.fromisoformat(stamp)
    except ValueError:
        raise BadLine(f"{stamp!r} is no date and time; write it like 2027-03-01T09:00") from None
    return moment if moment.tzinfo else moment.replace(tzinfo=zone)


def _cast(rest: str) -> Cast:
    words = rest.split()
    if len(words) < 2 or words[0] not in PARTS:
        raise BadLine(f"cast needs a part ({', '.join(PARTS)}) and a name, as in `cast owner Ada volume=1300L`")
    part, name, *traits = words
    if not re.fullmatch(_NAME, name) or name in _VERBS:
        raise BadLine(f"{name!r} cannot be a name here; a name is one word without : [ ] < # =")
    pairs = [trait.partition("=") for trait in traits]
    if wrong := [trait for trait, (_, equals, value) in zip(traits, pairs, strict=True) if not (equals and value)]:
        raise BadLine(f"{wrong[0]!r} is no attribute; write it like volume=1300L, without spaces")
    return Cast(part, name, {key: value for key, _, value in pairs})


def _history(rest: str) -> History:
    words = rest.split(maxsplit=2)
    if len(words) < 3:
        raise BadLine(
            "journal needs a name, a time and what happened, as in `journal Ada 2027-02-20T18:00 reading ph 7.6`"
        )
    name, stamp, what = words
    try:
        when = datetime.fromisoformat(stamp)
    except ValueError:
        raise BadLine(f"{stamp!r} is no date and time; write it like 2027-02-20T18:00") from None
    return History(name, when, what)


def _passes(rest: str) -> Passes:
    found = re.fullmatch(r"(\d+(?:\.\d+)?)\s*([mhdw])", rest)
    if not found:
        raise BadLine(f"{rest!r} is no span of time; write it like 30m, 2h, 7d or 1w")
    return Passes(timedelta(**{_SPANS[found[2]]: float(found[1])}))


def _restart(rest: str) -> Restart:
    if rest:
        raise BadLine("restart stands alone on its line")
    return Restart()


_VERBS: dict[str, Callable[[str], Line]] = {
    "at": _at,
    "cast": _cast,
    "journal": _history,
    "wait": _passes,
    "restart": _restart,
}

_DEEDS: tuple[tuple[str, Callable[..., Line]], ...] = (
    (rf"({_NAME})\s+\[(.+)\]", Taps),
    (rf"({_NAME})\s+answer\s+(\S+)\s+(.+)", Answers),
    (rf"({_NAME})\s*<\s*(\S+)\s*(.*)", Sends),
    (rf"({_NAME})\s+blocks", lambda name: Blocks(name, blocked=True)),
    (rf"({_NAME})\s+unblocks", lambda name: Blocks(name, blocked=False)),
    (rf"({_NAME}):\s?(.*)", Says),
)

"""What a button carries: what it answers, and to which asking it belongs, in at most 64 bytes.

Buttons live in a chat for ever. So each carries a version of this codec and the place in the conversation it was made
for; one that no longer fits is told apart from one that fits, and is answered with what is open now.
"""

from dataclasses import dataclass

VERSION = "1"
LONGEST = 64
"""Bytes of a button."""


@dataclass(frozen=True, slots=True)
class AnswerButton:
    """Option number `option` of the question that was open after `position` answers of flow number `serial`."""

    serial: int
    position: int
    option: int


@dataclass(frozen=True, slots=True)
class CommandButton:
    """A command that may be given at any time."""

    command: str


@dataclass(frozen=True, slots=True)
class ReminderButton:
    """An answer to a reminder about a tub."""

    tub: str
    what: str
    answer: str


@dataclass(frozen=True, slots=True)
class CaseButton:
    """Something that staff do with a case, or its owner says of it."""

    case: str
    action: str


@dataclass(frozen=True, slots=True)
class RoundButton:
    """An owner's answer to a message that went to many, or what the dealer does with it."""

    round: str
    action: str


@dataclass(frozen=True, slots=True)
class PersonButton:
    """Something that staff do about a person."""

    person: str
    action: str


Pressed = AnswerButton | CommandButton | ReminderButton | CaseButton | RoundButton | PersonButton


def encode(pressed: Pressed) -> str:
    """The data that a button carries; ValueError if it would be over 64 bytes."""
    match pressed:
        case AnswerButton(serial, position, option):
            data = f"{VERSION}a.{serial}.{position}.{option}"
        case CommandButton(command):
            data = f"{VERSION}c.{command}"
        case ReminderButton(tub, what, answer):
            data = f"{VERSION}r.{tub}.{what}.{answer}"
        case CaseButton(case, action):
            data = f"{VERSION}k.{case}.{action}"
        case RoundButton(name, action):
            data = f"{VERSION}o.{name}.{action}"
        case PersonButton(person, action):
            data = f"{VERSION}p.{person}.{action}"
    if len(data.encode()) > LONGEST:
        raise ValueError(f"a button may carry {LONGEST} bytes at most, not {len(data.encode())}: {data}")
    return data


def decode(data: str) -> Pressed | None:  # noqa: PLR0911
    """What a button carried; None for anything that we never made."""
    if len(data) > LONGEST:
        return None
    head, _, rest = data.partition(".")
    parts = rest.split(".")
    match head, parts:
        case "1a", [serial, position, option] if all(part.isascii() and part.isdigit() for part in parts):
            return AnswerButton(int(serial), int(position), int(option))
        case "1c", [command] if command:
            return CommandButton(command)
        case "1r", [tub, what, answer]:
            return ReminderButton(tub, what, answer)
        case "1k", [case, action]:
            return CaseButton(case, action)
        case "1o", [name, action]:
            return RoundButton(name, action)
        case "1p", [person, action]:
            return PersonButton(person, action)
    return None

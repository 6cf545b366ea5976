"""Every sentence that the code asks for is in the catalogue, and its placeholders are what the code gives."""

import ast
import re
from collections.abc import Iterator
from pathlib import Path

from bot.talk import flows  # noqa: F401  (registers every flow)
from bot.talk.commands import FLOW_OF
from bot.talk.flow import FLOWS
from bot.talk.understand.rules import rules
from bot.talk.words import catalogue, fields_of

BOT = Path(__file__).parents[2] / "bot"


def sentences() -> dict[str, list[str]]:
    """Every key with its forms."""
    found = {}
    for message in catalogue("en"):
        if message.id:
            key = message.id if isinstance(message.id, str) else message.id[0]
            found[key] = [message.string] if isinstance(message.string, str) else list(message.string)
    return found


SENTENCES = sentences()


def calls(name: str) -> Iterator[tuple[str, ast.Call, ast.expr]]:
    """Every call of that function, with its place and the key that it names (each of both where it chooses)."""
    for path in sorted(BOT.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Call) and isinstance(node.func, ast.Name) and node.func.id == name and node.args:
                yield from ((f"{path.name}:{node.lineno}", node, key) for key in chosen(node.args[0]))


def chosen(key: ast.expr) -> Iterator[ast.expr]:
    if isinstance(key, ast.IfExp):
        yield from chosen(key.body)
        yield from chosen(key.orelse)
    else:
        yield key


def pattern(key: ast.JoinedStr) -> str:
    parts = (re.escape(str(part.value)) if isinstance(part, ast.Constant) else ".+" for part in key.values)
    return "".join(parts)


def matching(key: ast.expr) -> list[str]:
    if isinstance(key, ast.Constant):
        return [key.value] if key.value in SENTENCES else []
    if isinstance(key, ast.JoinedStr):
        return [name for name in SENTENCES if re.fullmatch(pattern(key), name)]
    return []


def given(call: ast.Call) -> set[str] | None:
    """The names of the values that a call gives; None where it passes a whole mapping on."""
    names = {keyword.arg for keyword in call.keywords}
    return None if None in names else {str(name) for name in names}


CALLS = list(calls("line"))
LOOKED_FOR = {ast.unparse(key) for _, _, key in calls("has")}
"""Keys that the code looks for before it names them."""


def test_the_scan_sees_the_code() -> None:
    assert len(CALLS) > 200


def test_every_key_that_the_code_names_has_a_sentence() -> None:
    named = [(where, key) for where, _, key in CALLS if isinstance(key, ast.Constant | ast.JoinedStr)]
    missing = [(where, ast.unparse(key)) for where, key in named if not matching(key)]
    assert [(where, key) for where, key in missing if key not in LOOKED_FOR] == []


def test_every_placeholder_of_a_sentence_is_given_by_the_code() -> None:
    lacking = []
    for where, call, key in CALLS:
        values = given(call)
        for name in matching(key) if values is not None and isinstance(key, ast.Constant) else ():
            lacking += [(where, name, field) for text in SENTENCES[name] for field in set(fields_of(text)) - values]
    assert lacking == []


def test_a_sentence_is_not_empty_and_fits_a_phone() -> None:
    assert [key for key, forms in SENTENCES.items() if not all(0 < len(text.strip()) <= 600 for text in forms)] == []


def test_a_button_is_short() -> None:
    buttons = {key: forms for key, forms in SENTENCES.items() if key.startswith("button.")}
    assert [key for key, forms in buttons.items() if any(len(text) > 20 for text in forms)] == []


def test_every_red_flag_says_what_to_do_and_tells_staff_why() -> None:
    kinds = {rule.name for rule in rules("flag")} | {"over_40", "sanitizer_high", "ph_with_symptoms"}
    assert {f"flag.{kind}" for kind in kinds} <= SENTENCES.keys()
    assert {f"case.reason.{kind}" for kind in kinds} <= SENTENCES.keys()


def test_no_sentence_calls_the_water_safe() -> None:
    safe = re.compile(r"water is (now )?safe|safe (to|for) (bath|use|go)", re.IGNORECASE)
    assert [key for key, forms in SENTENCES.items() if any(safe.search(text) for text in forms)] == []


def test_every_command_that_begins_a_conversation_has_one() -> None:
    assert set(FLOW_OF.values()) <= set(FLOWS)

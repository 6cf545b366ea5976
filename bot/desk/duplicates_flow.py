"""Owners and tubs that are in the books twice, in the dealer's own chat: side by side, and never made one unasked."""

from typing import Any

from pydantic import JsonValue

from bot.talk import office, stack
from bot.talk.draft import Draft
from bot.talk.flow import Ask, Flow, Option, Say, Start, errand, flow
from bot.talk.words import Line, line, lines, verbatim


@office.task("duplicates")
def find_duplicates(draft: Draft) -> None:
    """Look through the books for those who are there twice."""
    stack.begin(draft, "duplicates")


@flow("duplicates")
def duplicates(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """One pair after another, until there is none or the dealer has had enough."""
    passed: list[JsonValue] = []
    nth = 0
    while True:
        nth += 1
        found = yield errand(f"look.{nth}", "duplicates.look", {"passed": passed}, line("duplicates.looking"))
        if not isinstance(found, dict) or "left" not in found:
            yield Say(line("duplicates.failed"))
            return None
        if not found["left"]:
            yield Say(line("duplicates.none" if nth == 1 else "duplicates.no_more"))
            return None
        said = yield Ask(f"same.{nth}", _shown(found), _options(found), name="same", columns=1)
        if said == "close":
            yield Say(line("duplicates.closed"))
            return None
        if said == "later":
            passed = [*passed, found["pair"]]
            continue
        asked = {"pair": found["pair"], "how": said}
        done = yield errand(f"decide.{nth}", "duplicates.decide", asked, line("duplicates.looking"))
        yield Say(line(f"duplicates.done.{said}" if done is True else "duplicates.failed"))
        if done is not True:
            return None


def _shown(found: dict[str, Any]) -> Line:
    rows = (
        line(
            "duplicates.row",
            field=line(f"intake.field.{field}"),
            left=verbatim(left or "-"),
            right=verbatim(right or "-"),
        )
        for field, left, right in found["rows"]
    )
    return lines(
        line("duplicates.head", count=found["left"], why=line(f"intake.field.{found['why']}")),
        lines(*rows, gap="\n"),
        line("duplicates.both_joined") if found["joined"] else None,
        line("duplicates.same"),
    )


def _options(found: dict[str, Any]) -> tuple[Option, ...]:
    may = []
    if found["tubs"] and not found["joined"]:
        may.append("both")
    if found["people"]:
        may.append("owner")
    return tuple(Option(name, line(f"duplicates.do.{name}")) for name in (*may, "different", "later", "close"))

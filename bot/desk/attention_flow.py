"""Who needs somebody, in the dealer's own chat: what is the matter with how many, and their names to tap."""

from collections.abc import Generator, Mapping
from typing import Any

from pydantic import JsonValue

from bot.desk import owner_card  # noqa: F401  (registers what the names do)
from bot.talk import office, stack
from bot.talk.draft import Draft
from bot.talk.flow import Ask, Doing, Flow, Option, Say, Start, errand, flow
from bot.talk.words import line, lines

CLOSE = Option("close", line("attention.do.close"))
LIST = Option("list", line("attention.do.list"))
AGAIN = Option("/attention", line("office.do.attention"))


@office.task("attention")
def who_needs_me(draft: Draft) -> None:
    """Look through the books for those who need somebody."""
    stack.begin(draft, "attention")


@office.task("more_names")
def next_names(draft: Draft) -> None:
    """Go on with the names that were shown last."""
    stack.begin(draft, "more_names")


@flow("attention")
def attention(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """The counts, then names of one matter after another."""
    found = yield errand("look", "attention.look", {}, line("attention.looking"))
    if not isinstance(found, dict) or "counts" not in found:
        yield Say(line("attention.failed"))
        return None
    if not found["counts"]:
        yield Say(line("attention.nobody"))
        return None
    counted = (
        line("attention.count", matter=line(f"attention.matter.{matter}"), number=number)
        for matter, number in found["counts"].items()
    )
    text = lines(line("attention.head", count=found["people"]), lines(*counted, gap="\n"), line("attention.which"))
    matters = tuple(Option(matter, line(f"attention.do.{matter}")) for matter in found["counts"])
    said = yield Ask("which", text, (*matters, LIST, CLOSE))
    if said == "close":
        yield Say(line("attention.closed"))
    elif said == "list":
        sent = yield errand("list", "attention.list", {}, line("attention.looking"))
        yield Say(line("attention.listed" if sent is True else "attention.failed"), offers=(AGAIN,))
    else:
        yield from _names({"matter": said})
    return None


@flow("more_names")
def more_names(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """The names that come after those shown last."""
    yield from _names({})
    return None


def _names(which: Mapping[str, JsonValue]) -> Generator[Doing, Any, None]:
    """Nothing stays open behind the names: what the dealer writes then is for the owner of a case."""
    shown = yield errand("show", "attention.show", which, line("attention.looking"))
    if not isinstance(shown, dict) or "left" not in shown:
        yield Say(line("attention.failed"), offers=(AGAIN,))
        return
    more = (Option("/more_names", line("attention.do.more")),) if shown["left"] else ()
    yield Say(line("attention.next"), offers=(*more, AGAIN))

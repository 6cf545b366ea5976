"""The dealer's invites: who has not joined, cards to print for them, and taking invites back."""

from collections.abc import Generator
from typing import Any

from bot.talk.flow import Ask, Doing, Flow, Option, Say, Start, errand, flow
from bot.talk.words import line, lines, verbatim

CANCEL = Option("cancel", line("button.cancel"))


@flow("invites")
def invites(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """Who has not joined, and what is to be done about it."""
    found = yield errand("look", "invites.look", {}, line("invites.looking"))
    if not isinstance(found, dict) or "count" not in found:
        yield Say(line("invites.failed"))
        return None
    if not found["count"]:
        yield Say(line("invites.all_in"))
        return None
    names = tuple(verbatim(str(name)) for name in found["names"])
    text = lines(
        line("invites.count", count=found["count"]),
        line("invites.ways", open=found["open"], expired=found["expired"], none=found["none"]),
        line("invites.names", names=names) if names else None,
        line("invites.what"),
    )
    take_back = (Option("withdraw", line("invites.do.withdraw")),) if found["open"] else ()
    options = (Option("cards", line("invites.do.cards")), Option("list", line("invites.do.list")), *take_back, CANCEL)
    match (yield Ask("what", text, options)):
        case "cards":
            yield from _cards(found)
        case "list":
            sent = yield errand("list", "invites.list", {}, line("invites.looking"))
            yield Say(line("invites.list_done" if sent is True else "invites.failed"))
        case "withdraw":
            yield from _withdraw(found)
        case _:
            yield Say(line("import.cancelled"))
    return None


def _cards(found: dict[str, Any]) -> Generator[Doing, Any, None]:
    whom = "new"
    if found["open"]:
        options = (Option("new", line("invites.do.new")), Option("all", line("invites.do.all")), CANCEL)
        whom = yield Ask("whom", line("invites.for_whom"), options)
        if whom == "cancel":
            yield Say(line("import.cancelled"))
            return
    made = yield errand("cards", "invites.cards", {"whom": whom}, line("invites.making"))
    match made:
        case {"sent": int(count), "left": int(left)} if count:
            more = line("invites.more", count=left) if left else None
            yield Say(lines(line("invites.done", count=count), more))
        case {"sent": 0, "left": 0}:
            yield Say(line("invites.nobody"))
        case {"sent": 0}:
            yield Say(line("invites.not_sent"))
        case _:
            yield Say(line("invites.failed"))


def _withdraw(found: dict[str, Any]) -> Generator[Doing, Any, None]:
    sure = (Option("yes", line("button.yes")), Option("no", line("button.no")))
    if (yield Ask("sure", line("invites.sure", count=found["open"]), sure)) == "no":
        yield Say(line("import.cancelled"))
        return
    gone = yield errand("withdraw", "invites.withdraw", {}, line("invites.looking"))
    yield Say(line("invites.withdrawn", count=gone) if isinstance(gone, int) else line("invites.failed"))

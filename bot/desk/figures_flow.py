"""How the house does, in the dealer's own chat."""

from bot.talk import office, stack
from bot.talk.draft import Draft
from bot.talk.flow import Flow, Say, Start, errand, flow
from bot.talk.words import line


@office.task("numbers")
def numbers(draft: Draft) -> None:
    """Count, and send what was counted."""
    stack.begin(draft, "numbers")


@flow("numbers")
def figures_told(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """The figures come as a picture and as a table."""
    sent = yield errand("count", "figures.send", {}, line("house.looking"))
    yield Say(line("house.done_counting" if sent is True else "house.failed"))
    return None

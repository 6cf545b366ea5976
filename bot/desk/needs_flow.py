"""What owners will soon need from the shop, in the dealer's own chat."""

from bot.talk import office, stack
from bot.talk.draft import Draft
from bot.talk.flow import Flow, Say, Start, errand, flow
from bot.talk.words import line


@office.task("needs")
def needs(draft: Draft) -> None:
    """Look who runs out of what, and send it as a list."""
    stack.begin(draft, "needs")


@flow("needs")
def needs_told(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """The packs in a message, and the names as a table."""
    sent = yield errand("look", "needs.send", {}, line("needs.looking"))
    yield Say(line("needs.told" if sent is True else "needs.failed"))
    return None

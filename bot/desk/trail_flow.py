"""Who did what of late, in the dealer's own chat."""

from bot.talk import office, stack
from bot.talk.draft import Draft
from bot.talk.flow import Flow, Say, Start, errand, flow
from bot.talk.words import line


@office.task("audit")
def audit(draft: Draft) -> None:
    """Say who did what of late, and send all of it as a table."""
    stack.begin(draft, "audit")


@flow("audit")
def audit_told(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """The newest in a message, a month of them as a table."""
    sent = yield errand("look", "audit.send", {}, line("audit.looking"))
    yield Say(line("audit.told" if sent is True else "audit.failed"))
    return None

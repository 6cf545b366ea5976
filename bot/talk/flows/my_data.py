"""All that is stored on a person, as a file for them."""

from bot.talk.flow import Flow, Say, Start, errand, flow
from bot.talk.words import line


@flow("my_data")
def my_data(start: Start) -> Flow:  # noqa: ARG001 - every flow is given what it begins with
    """Hand over what is stored, and say who else sees it."""
    sent = yield errand("export", "privacy.export", {}, line("my_data.looking"))
    yield Say(line("my_data.done" if sent is True else "my_data.failed"))
    return None

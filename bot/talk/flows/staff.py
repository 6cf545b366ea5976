"""Between owners and the dealer's people: a question goes out, an answer comes back."""

from bot.model.fact import CaseOpened
from bot.talk.cases import new_case
from bot.talk.flow import Ask, Flow, Heard, Keep, Option, Record, Say, Start, Tell, flow
from bot.talk.words import line, lines, verbatim


def reads_words(text: str) -> Heard | None:
    """Any words at all, as they were written."""
    words = text.strip()
    return Heard(words[:4096]) if words else None


@flow("ask_a_person")
def ask_a_person(start: Start) -> Flow:
    """A question for a technician. Args: `text`, where it has been put already."""
    text = start.args.get("text")
    if not text:
        text = yield Ask("question", line("ask.what"), (Option("cancel", line("button.cancel")),), reads_words)
        if text == "cancel":
            yield Say(line("ask.cancelled"))
            return None
    case = yield Keep("case.name", lambda live: new_case(live.journal, start.person))
    yield Record("case", CaseOpened(case=str(case), klass="question", reasons=(), text=str(text)))
    yield Say(line("ask.passed_on"))
    return None


@flow("answer_case")
def answer_case(start: Start) -> Flow:
    """A technician answers an owner. Args: `case`, `name` and `owner`, the owner's key."""
    name = verbatim(str(start.args["name"]))
    words = yield Ask(
        "words", line("case.what_to_say", name=name), (Option("cancel", line("button.cancel")),), reads_words
    )
    if words == "cancel":
        yield Say(line("case.not_sent"))
        return None
    said = lines(line("case.said", name=verbatim(start.person.name)), verbatim(str(words)), gap="\n")
    yield Tell("answer", str(start.args["owner"]), said)
    yield Say(line("case.sent", name=name))
    return None

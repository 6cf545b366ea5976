"""Something is wrong with the water or the tub: the usual causes in order, a test, or a person."""

from bot.talk.flow import Ask, Flow, Next, Option, Say, Start, flow
from bot.talk.words import line

BY_TEST = frozenset(
    {"cloudy", "foam", "smell", "green", "brown", "flakes", "scale", "sanitizer_vanishes", "waterline", "eyes", "rash"}
    | {"slime", "bad_source"}
)
"""Symptoms that a test of the water tells more about."""


@flow("symptom")
def symptom(start: Start) -> Flow:
    """Args: `what`, the symptom's code; `text`, the owner's own words."""
    what = str(start.args["what"])
    test = (Option("test", line("button.test")),) if what in BY_TEST else ()
    chosen = yield Ask(
        "next",
        line(f"symptom.{what}"),
        (*test, Option("person", line("button.person")), Option("helped", line("symptom.helped"))),
        columns=1,
    )
    match chosen:
        case "test":
            return Next("weekly_test")
        case "person":
            return Next("ask_a_person", {"text": start.args.get("text", "")})
    yield Say(line("symptom.glad"))
    return None

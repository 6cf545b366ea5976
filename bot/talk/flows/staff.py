"""Between owners and the dealer's people: a question goes out, an answer comes back."""

from pydantic import JsonValue

from bot.model.fact import CaseCleared, CaseNoted, CaseOpened
from bot.talk.buttons import CaseButton, encode
from bot.talk.card import Story, first_name, story_of
from bot.talk.cases import back_button, new_case
from bot.talk.flow import Ask, Flow, Heard, Keep, Live, Option, Record, Say, Start, Tell, flow
from bot.talk.words import line, lines

CLOSING = ("solved", "by_phone", "visit", "no_answer", "not_ours", "twice")
"""Why the dealer's people close a case."""


def reads_words(text: str) -> Heard | None:
    """Any words at all, as they were written."""
    words = text.strip()
    return Heard(words[:4096]) if words else None


@flow("ask_a_person")
def ask_a_person(start: Start) -> Flow:
    """A question for a technician. Args: `text`, where it has been put already."""
    text = start.args.get("text")
    if not text:
        text = yield Ask("question", line("ask.what"), (cancel(),), reads_words)
        if text == "cancel":
            yield Say(line("ask.cancelled"))
            return None
    case = yield Keep("case.name", lambda live: new_case(live.journal, start.person))
    yield Record("case", CaseOpened(case=str(case), klass="question", reasons=(), text=str(text)))
    yield Say(line("ask.passed_on"))
    return None


@flow("case_note")
def case_note(start: Start) -> Flow:
    """A note that only the dealer's people see. Args: `case`."""
    case = str(start.args["case"])
    words = yield Ask("words", line("case.which_note"), (cancel(),), reads_words)
    if words == "cancel":
        yield Say(line("case.nothing_done"))
        return None
    found = yield Keep("found", lambda live: _found(live, case))
    if not isinstance(found, dict):
        yield Say(line("case.closed_already", case=case))
        return None
    yield Record("note", CaseNoted(case=case, text=str(words)), tub=_key(found["tub"]))
    yield Say(line("case.note_kept", name=str(found["name"])))
    return None


@flow("close_case")
def close_case(start: Start) -> Flow:
    """End a case with a reason and perhaps a note; its owner is asked whether it helped. Args: `case` and `name`."""
    case, name = str(start.args["case"]), str(start.args["name"])
    reasons = tuple(Option(reason, line(f"case.closing.{reason}")) for reason in CLOSING)
    reason = yield Ask("reason", line("case.why_close", name=name), (*reasons, cancel()))
    if reason == "cancel":
        yield Say(line("case.nothing_done"))
        return None
    skip = Option("", line("button.skip"))
    note = yield Ask("note", line("case.closing_note"), (skip, Option("cancel", line("button.cancel"))), reads_words)
    if note == "cancel":
        yield Say(line("case.nothing_done"))
        return None
    found = yield Keep("found", lambda live: _found(live, case))
    if not isinstance(found, dict):
        yield Say(line("case.closed_already", case=case))
        return None
    cleared = CaseCleared(case=case, by="staff", reason=str(reason), note=str(note))
    yield Record("closed", cleared, tub=_key(found["tub"]))
    if found["owner"]:
        did = (line("case.do.helped"), encode(CaseButton(case, "helped")))
        me = first_name(start.person)
        told = lines(line("case.let_go", holder=me) if found["held"] else None, line("case.closed", name=me))
        yield Tell("told", str(found["owner"]), told, (did, back_button(case)))
    yield Say(line("case.closed_by_you", name=name))
    return None


def story_in(live: Live, name: str) -> Story | None:
    """The open case of that key, with what this very step has recorded."""
    for case in live.known.cases:
        if isinstance(case.entry.fact, CaseOpened) and case.entry.fact.case == name:
            new = tuple(entry for entry in live.journal if case.tub and entry.tub == case.tub.key)
            return story_of(case.model_copy(update={"journal": (*case.journal, *new)}), live.known.dealer)
    return None


def _found(live: Live, name: str) -> JsonValue:
    """Tub and owner of a case and whether doses are held in it, if it is still open."""
    story = story_in(live, name)
    if story is None or story.state is None:
        return None
    return {
        "tub": story.state.entry.tub,
        "owner": story.owner.key if story.owner else None,
        "name": story.name,
        "held": story.state.held or story.state.decides,
    }


def _key(value: JsonValue) -> str | None:
    return None if value is None else str(value)


def cancel() -> Option:
    """The button that ends it without a word to anybody."""
    return Option("cancel", line("button.cancel"))

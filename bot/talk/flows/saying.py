"""What one of the dealer's people says to an owner, where it is looked at before it goes out."""

from collections.abc import Generator
from typing import Any

from pydantic import JsonValue, TypeAdapter

from bot.model.event import File
from bot.model.fact import CaseSaid
from bot.talk.bench import objections_line
from bot.talk.card import first_name
from bot.talk.flow import Ask, Doing, Flow, Keep, Live, Option, Record, Say, Start, flow
from bot.talk.flows.dose_guard import objections_to
from bot.talk.flows.staff import cancel, reads_words, story_in
from bot.talk.words import Line, line, lines, verbatim
from dosing import Objection

FILES: TypeAdapter[tuple[File, ...]] = TypeAdapter(tuple[File, ...])
OBJECTIONS: TypeAdapter[tuple[Objection, ...]] = TypeAdapter(tuple[Objection, ...])


@flow("say_dose")
def say_dose(start: Start) -> Flow:
    """A text with a dose that something speaks against: sent as it is, written anew, or not sent.

    Args: `case`, `text`, `files`, `edited`.
    """
    text, number = str(start.args["text"]), 0
    while True:
        number += 1
        against = yield from _against(start, f"{number}.", text)
        if not against:
            break
        options = (Option("send", line("case.do.as_it_is")), Option("cancel", line("case.do.not_send")))
        question = lines(_quoted(text), objections_line(against, barred=False), line("case.dose_sure"))
        answer = yield Ask(f"{number}.sure", question, options, reads_words, columns=1)
        if answer == "cancel":
            yield Say(line("case.nothing_sent"))
            return None
        if answer == "send":
            break
        text = str(answer)
    files = FILES.validate_python(start.args.get("files") or [])
    yield from _sent(start, text, files, against, edited=bool(start.args.get("edited")))
    return None


@flow("standing_answer")
def standing_answer(start: Start) -> Flow:
    """One of the dealer's standing answers, seen before it goes out. Args: `case`."""
    answers = start.dealer.answers
    options = tuple(Option(str(place), verbatim(answer.title)) for place, answer in enumerate(answers))
    chosen = yield Ask("which", line("case.which_answer"), (*options, cancel()))
    if chosen == "cancel":
        yield Say(line("case.nothing_sent"))
        return None
    text = yield Keep("text", lambda live: _filled(live, start, int(str(chosen))))
    if text is None:
        yield Say(line("case.closed_already", case=str(start.args["case"])))
        return None
    against = yield from _against(start, "", str(text))
    preview = lines(verbatim(str(text)), objections_line(against, barred=False))
    if (yield Ask("sure", preview, (Option("send", line("proposal.do.send")), cancel()))) == "cancel":
        yield Say(line("case.nothing_sent"))
        return None
    yield from _sent(start, str(text), (), against)
    return None


def _filled(live: Live, start: Start, place: int) -> JsonValue:
    """The answer in the owner's language."""
    story = story_in(live, str(start.args["case"]))
    if story is None:
        return None
    language = story.owner.language if story.owner else start.dealer.language
    answer = start.dealer.answers[place]
    return answer.said(language, start.dealer.language, name=story.name, technician=first_name(start.person))


def _against(start: Start, at: str, text: str) -> Generator[Doing, Any, tuple[Objection, ...]]:
    kept = yield Keep(f"{at}against", lambda live: _objections(live, start, text))
    return OBJECTIONS.validate_python(kept)


def _objections(live: Live, start: Start, text: str) -> JsonValue:
    story = story_in(live, str(start.args["case"]))
    found = objections_to(story, text, start.dealer, live.now) if story else ()
    return OBJECTIONS.dump_python(found, mode="json")  # type: ignore[no-any-return]


def _quoted(text: str) -> Line:
    return verbatim(f"“{text}”" if len(text) <= 400 else f"“{text[:400]}…”")


def _sent(
    start: Start, text: str, files: tuple[File, ...], against: tuple[Objection, ...], *, edited: bool = False
) -> Generator[Doing, Any, None]:
    """Send it, if the case is still this person's."""
    case = str(start.args["case"])
    found = yield Keep("to", lambda live: _to(live, start, case))
    if not isinstance(found, dict):
        yield Say(line(f"case.not_sent.{found}", case=case))
        return
    codes = tuple(dict.fromkeys(it.code for it in against))
    said = CaseSaid(case=case, side="staff", text=text[:4096], files=files, edited=edited, confirmed=codes)
    yield Record("said", said, tub=str(found["tub"]) if found["tub"] else None)
    yield Say(line("case.sent", name=str(found["name"])))


def _to(live: Live, start: Start, case: str) -> JsonValue:
    story = story_in(live, case)
    if story is None or story.state is None:
        return "closed"
    if story.state.by != start.person.key:
        return "not_yours"
    if not story.reachable:
        return "unreachable"
    return {"tub": story.tub.key if story.tub else None, "name": story.name}

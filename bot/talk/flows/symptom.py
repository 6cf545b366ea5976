"""Something is wrong with the water or the tub: the question that decides, the likely causes, what to do, when to look
again, and a person where it does not get better.
"""

from collections.abc import Callable, Generator, Mapping
from datetime import datetime, timedelta
from typing import Any

from pydantic import JsonValue, TypeAdapter

from bot.model.fact import CaseOpened
from bot.model.zones import zone
from bot.schedule.local import allowed
from bot.talk.cases import new_case
from bot.talk.causes import Cause, Signs, likely
from bot.talk.danger import contacts_of
from bot.talk.flow import Ask, Doing, Flow, Keep, Live, Next, Option, Record, Say, Start, Wait, flow
from bot.talk.flows.hand_over import hand_over
from bot.talk.guides import GUIDES, NEAR_DANGER, Answer, Guide, Way, told_answer
from bot.talk.words import Line, Span, has, line, lines

Talk = Generator[Doing, Any, Next | None]
CAUSES: TypeAdapter[tuple[Cause, ...]] = TypeAdapter(tuple[Cause, ...])


@flow("symptom")
def symptom(start: Start) -> Flow:
    """Args: `what`, the symptom's code; `text`, the owner's own words."""
    what = str(start.args["what"])
    answer = told_answer(what, _words(start)) or (yield from _plain_by_age(start, what))
    answer = answer or (yield from _first_question(what))
    return (yield from WAYS[answer.way](start, what, answer))


def _words(start: Start) -> str:
    return str(start.args.get("text") or "")[:4096]


def _plain_by_age(start: Start, what: str) -> Generator[Doing, Any, Answer | None]:
    """Foam on water past its time: whatever got in, a change of water is the answer, so nothing is asked first."""
    if what != "foam":
        return None
    old = yield Keep("old", lambda live: _is_old(_causes(live, start, GUIDES[what])))
    return next(one for one in GUIDES[what].answers if one.way == "look") if old else None


def _is_old(causes: tuple[Cause, ...]) -> bool:
    return any(cause.name == "old_water" and cause.seen for cause in causes)


def _first_question(what: str) -> Generator[Doing, Any, Answer]:
    answers = GUIDES[what].answers
    if not answers:
        return Answer("", "look")
    chosen = yield Ask(
        "first",
        line(f"guide.{what}"),
        (
            *(Option(one.key, line(f"guide.{what}.{one.key}")) for one in answers),
            *((Option("/danger", line("button.danger")),) if what in NEAR_DANGER else ()),
            Option("/person", line("button.person")),
        ),
        name=what,
        columns=1,
    )
    return next(one for one in answers if one.key == chosen)


def _danger(start: Start, _: str, answer: Answer) -> Talk:
    """What an answer shows to be a red flag is one: a case at the front, doses withheld."""
    case = yield Keep("danger.name", lambda live: new_case(live.journal, start.person))
    told = yield Keep("danger.staff", lambda live: bool(live.known.staff))
    yield Record("danger", CaseOpened(case=str(case), klass="danger", reasons=(answer.flag,), text=_words(start)))
    yield Say(
        lines(
            line(f"flag.{answer.flag}"),
            contacts_of(start.dealer, answer.number, start.person.zone),
            line("danger.told" if told else "danger.call_dealer"),
        )
    )
    return None


def _other(start: Start, _: str, answer: Answer) -> Talk:
    """It is another symptom."""
    yield from ()
    return Next("symptom", {**start.args, "what": answer.flag})


def _person(start: Start, what: str, answer: Answer) -> Talk:
    """Somebody has to look at it."""
    yield Say(line(f"guide.{what}.{answer.key}.then"))
    yield from hand_over(start, "case", (f"symptom_{what}",), _words(start))
    return None


def _test(start: Start, what: str, answer: Answer) -> Talk:
    """The readings decide, at once; water that is not fit is a case."""
    yield Say(line(f"guide.{what}.{answer.key}.then"))
    if answer.flag:
        yield from hand_over(start, "case", (answer.flag,), _words(start), "water")
    return Next("weekly_test", {"after": what})


def _end(_: Start, what: str, answer: Answer) -> Talk:
    """Nothing is wrong."""
    yield Say(line(f"guide.{what}.{answer.key}.then"))
    return None


def _new_water(start: Start, what: str, answer: Answer) -> Talk:
    """Only a change of water helps."""
    if answer.flag:
        yield from hand_over(start, "case", (answer.flag,), _words(start), "water")
    chosen = yield Ask(
        "change",
        line(f"guide.{what}.{answer.key}.then"),
        (
            Option("refill", line("button.did.refill")),
            Option("test", line("button.test")),
            Option("later", line("button.later")),
        ),
        columns=1,
    )
    if chosen == "later":
        yield Say(line("guide.change_later"))
        return None
    return Next("refill", {"why": what}) if chosen == "refill" else Next("weekly_test", {"after": what})


def _look(start: Start, what: str, answer: Answer) -> Talk:
    """The likely causes and what to do; then look again."""
    guide = GUIDES[what]
    causes = CAUSES.validate_python((yield Keep("causes", lambda live: _dumped(_causes(live, start, guide)))))
    old = _is_old(causes)
    chosen = yield Ask(
        "next",
        lines(_known_already(what, answer) or _causes_line(causes), line(f"guide.{what}.do")),
        (
            *((Option("refill", line("button.did.refill")),) if old else ()),
            *((Option("test", line("button.test")),) if guide.test else ()),
            Option("will", line("guide.will")),
            Option("person", line("button.person")),
            Option("helped", line("symptom.helped")),
        ),
        columns=1,
    )
    match chosen:
        case "refill":
            return Next("refill", {"why": what})
        case "test":
            return Next("weekly_test", {"after": what})
        case "person":
            return Next("ask_a_person", {"text": _words(start)})
        case "helped":
            yield Say(line("symptom.glad"))
            return None
    return (yield from _look_again(start, what, guide))


def _known_already(what: str, answer: Answer) -> Line | None:
    key = f"guide.{what}.{answer.key}.then"
    return line(key) if has(key) else None


def _causes(live: Live, start: Start, guide: Guide) -> tuple[Cause, ...]:
    return likely(guide.causes, Signs(live.known.tub or start.tub, start.dealer, live.journal, live.now))


def _dumped(causes: tuple[Cause, ...]) -> JsonValue:
    return CAUSES.dump_python(causes, mode="json")  # type: ignore[no-any-return]


def _causes_line(causes: tuple[Cause, ...]) -> Line | None:
    return line("guide.causes", causes=tuple(cause.line for cause in causes)) if causes else None


def _look_again(start: Start, what: str, guide: Guide) -> Talk:
    minutes = yield Keep("minutes", lambda live: _minutes(live, start, guide.hours))
    early = (Option("yes", line("guide.better.yes")), Option("no", line("guide.better.no")))
    better = yield Wait("again", float(minutes), line("guide.again", span=Span(float(minutes))), early)
    if better is None:
        better = yield Ask("better", line("guide.better"), early)
    if better == "yes":
        yield Say(line("symptom.glad"))
        return None
    key = f"guide.{what}.else"
    yield Say(line(key if has(key) else "guide.else"))
    yield from hand_over(start, "no_better", (f"symptom_{what}",), _words(start))
    return None


def _minutes(live: Live, start: Start, hours: float) -> JsonValue:
    """Until it is looked at again, outside the quiet hours."""
    at: datetime = allowed(live.now + timedelta(hours=hours), start.person.quiet, zone(start.person.zone))
    return (at - live.now).total_seconds() / 60


WAYS: Mapping[Way, Callable[[Start, str, Answer], Talk]] = {
    "look": _look,
    "test": _test,
    "refill": _new_water,
    "person": _person,
    "danger": _danger,
    "end": _end,
    "other": _other,
}
"""How the conversation goes on after the first answer."""

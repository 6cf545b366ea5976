"""The conversation in which the dealer writes a round: what it is, whom it is for, its words, when it leaves, and the
last look before it does.
"""

import hashlib
from collections.abc import Generator, Iterator
from datetime import date, datetime, time
from typing import Any, get_args

from pydantic import JsonValue

from bot.desk.rounds.asking import ask_whom
from bot.desk.rounds.letter import fault, language_of, letter
from bot.desk.rounds.manners import delayed
from bot.desk.rounds.telling import reasons
from bot.desk.rounds.whom import read_whom
from bot.model.round import Round, RoundKind, RoundView, Timing
from bot.model.trail import RoundOrdered
from bot.model.zones import zone
from bot.schedule.local import local_day
from bot.talk.flow import (
    Again,
    Ask,
    Doing,
    Flow,
    Heard,
    Keep,
    Live,
    Option,
    OrderRound,
    Reads,
    Record,
    Say,
    Start,
    Wait,
    WriteRound,
    flow,
)
from bot.talk.understand import clock, day
from bot.talk.words import Line, languages, line, lines, verbatim

COUNTING_MINUTES = 10.0
"""At most: as soon as it is known whom a round is for, the conversation goes on."""
KINDS: tuple[RoundKind, ...] = get_args(RoundKind)
TURNS = 5
"""How often somebody may choose others."""
SHOWN = 3
OTHERS = 3
"""In how many languages beside the dealer's own the words are asked for."""


@flow("round")
def write_round(start: Start) -> Flow:
    """Write one message to many owners, look at it as it arrives, and send it."""
    key = str((yield Keep("key", lambda live: _key(start, live))))
    kind = yield Ask(
        "kind",
        line("bulk.ask.kind"),
        (*(Option(name, line(f"bulk.kind.{name}")) for name in KINDS), _cancel()),
        columns=1,
    )
    if kind == "cancel":
        yield Say(line("bulk.dropped"))
        return None
    blank = Round(key=key, dealer=start.dealer.key, by=start.person.key, kind=kind, made_at=start.began)
    found = yield from _whom(blank)
    if found is None:
        yield OrderRound("dropped", key, "discard")
        yield Say(line("bulk.dropped"))
        return None
    chosen, view = found
    texts = yield from _texts(start, chosen, view["languages"])
    timing = yield from _timing(start)
    ready = chosen.model_copy(update={"texts": texts, "timing": timing, "language": start.person.language})
    yield WriteRound("ready", ready)
    sent = yield from _last_look(start, ready, view["reaches"])
    if not sent:
        yield OrderRound("dropped", key, "discard")
        yield Say(line("bulk.dropped"))
        return None
    yield OrderRound("started", key, "start")
    yield Record("order", RoundOrdered(round=key, order="start", people=view["reaches"]))
    yield Say(line("bulk.started", round=key))
    return None


def _key(start: Start, live: Live) -> str:
    """A short key that no other round has: of whoever writes it, the moment, and the conversation's own count."""
    whole = f"{start.person.key} {start.began.isoformat()} {live.known.conversation.serial}"
    return "r" + hashlib.sha256(whole.encode()).hexdigest()[:8]


def _whom(blank: Round) -> Generator[Doing, Any, tuple[Round, dict[str, Any]] | None]:
    """Ask whom it is for until somebody is, and the dealer is content with them."""
    for turn in range(TURNS):
        said = yield from ask_whom(turn)
        if said is None:
            return None
        chosen = blank.model_copy(update={"whom": read_whom(said), "wakes": f"counted.{turn}"})
        yield WriteRound(f"written.{turn}", chosen)
        yield Wait(f"counted.{turn}", COUNTING_MINUTES, line("bulk.counting"))
        view = yield Keep(f"view.{turn}", lambda live: _summary(live, blank.key))
        if not isinstance(view, dict) or not view["reaches"]:
            yield Say(lines(line("bulk.nobody"), _left_out(view)))
            continue
        names = tuple(verbatim(name) for name in view["names"])
        yield Say(
            lines(
                lines(line("bulk.found", count=view["reaches"]), line("bulk.for_example", names=names), gap=" "),
                _left_out(view),
            )
        )
        options = (*(Option(name, line(f"bulk.go.{name}")) for name in ("write", "others")), _cancel())
        go = yield Ask(f"go.{turn}", line("bulk.ask.go"), options, name="go", columns=1)
        if go == "write":
            return chosen, view
        if go == "cancel":
            return None
    return None


def _summary(live: Live, key: str) -> JsonValue:
    """What was found, as far as the dealer is told; None while it is not known."""
    view = _view(live, key)
    if view is None or view.state != "chosen":
        return None
    return {
        "reaches": view.reaches,
        "reasons": dict(view.reasons),
        "languages": dict(view.languages),
        "names": [one.person.name or one.person.key for one in view.examples],
    }


def _view(live: Live, key: str) -> RoundView | None:
    return next((view for view in live.known.rounds if view.round.key == key), None)


def _left_out(view: object) -> Line | None:
    return reasons(view["reasons"]) if isinstance(view, dict) else None


def _texts(start: Start, chosen: Round, readers: dict[str, int]) -> Generator[Doing, Any, dict[str, str]]:
    """The words, in the dealer's own language and in those of the others, or what they fall back to."""
    mine = start.person.language
    reads = _reads_text(chosen)
    key = "bulk.ask.text_due" if chosen.whom.about else "bulk.ask.text"
    texts = {mine: str((yield Ask("text", line(key, language=line(f"language.{mine}")), (), reads)))}
    others = sorted((name for name in readers if name != mine and name in languages()), key=lambda name: -readers[name])
    for name in others[:OTHERS]:
        text = yield Ask(
            f"text.{name}",
            line(
                "bulk.ask.text_in", count=readers[name], language=line(f"language.{name}"), own=line(f"language.{mine}")
            ),
            (Option("", line("bulk.as_it_is")),),
            reads,
        )
        if text:
            texts[name] = str(text)
    return texts


def _reads_text(chosen: Round) -> Reads:
    def read(text: str) -> Heard | Again:
        wrong = fault(text, chosen.whom)
        return Again(wrong) if wrong is not None else Heard(text.strip())

    return read


def _timing(start: Start) -> Generator[Doing, Any, Timing]:
    """When it leaves."""
    options = ("now", "morning", "evening", "spread")
    said = yield Ask(
        "when",
        line("bulk.ask.when"),
        tuple(Option(name, line(f"bulk.when.{name}")) for name in options),
        _reads_when(start),
    )
    match str(said):
        case "now":
            return Timing()
        case "morning":
            return Timing(how="local", clock=time(10))
        case "evening":
            return Timing(how="local", clock=time(18))
        case "spread":
            return Timing(how="spread", hours=4)
        case moment:
            on, _, at = moment.partition("T")
            return Timing(how="local", day=date.fromisoformat(on), clock=time.fromisoformat(at))


def _reads_when(start: Start) -> Reads:
    """Reads a time of day, perhaps of a day to come, as both in ISO form."""

    def read(text: str) -> Heard | None:
        at = clock(text)
        if at is None:
            return None
        today = local_day(start.began, zone(start.person.zone))
        return Heard(f"{(day(text, today) or today).isoformat()}T{at.isoformat()}")

    return read


def _last_look(start: Start, ready: Round, reaches: int) -> Generator[Doing, Any, bool]:
    """Show the message as it arrives and who gets it later, and have it confirmed, by its number if they are many."""
    shown = yield Keep("preview", lambda live: list(_previews(live, ready, start)))
    for one in shown if isinstance(shown, list) else ():
        yield Say(
            lines(
                line("bulk.arrives", name=verbatim(one["name"]), language=line(f"language.{one['language']}")),
                verbatim(one["text"]),
            )
        )
    later = yield Keep("later", lambda live: list(_delays(live, ready)))
    for one in later if isinstance(later, list) else ():
        at = datetime.fromisoformat(one["at"])
        yield Say(line("bulk.delayed", count=one["count"], at=at, zone=verbatim(one["zone"])))
    note = line(f"bulk.approve.{ready.kind}") if ready.kind != "reminder" else None
    if reaches < start.dealer.bulk.confirm_from:
        sure = yield Ask(
            "sure", lines(note, line("bulk.ask.send", count=reaches)), (Option("yes", line("bulk.send.yes")), _cancel())
        )
        return bool(sure == "yes")
    number = yield Ask(
        "number",
        lines(note, line("bulk.ask.number", count=reaches)),
        (_cancel(),),
        _counts(reaches),
    )
    return bool(number == reaches)


def _previews(live: Live, ready: Round, start: Start) -> Iterator[JsonValue]:
    """The message as one reader of each text gets it."""
    view = _view(live, ready.key)
    seen: set[str] = set()
    for candidate in view.examples if view else ():
        language = language_of(ready.texts, candidate.person.language, ready.language)
        if language not in seen and len(seen) < SHOWN:
            seen.add(language)
            text = letter(ready, candidate, start.dealer).text
            yield {"name": candidate.person.name or candidate.person.key, "language": language, "text": text}


def _delays(live: Live, ready: Round) -> Iterator[JsonValue]:
    """Those whom quiet hours put off, by zone."""
    view = _view(live, ready.key)
    for name, at, count in list(delayed(ready, view.places if view else {}, live.now))[:SHOWN]:
        yield {"zone": name, "at": at.isoformat(), "count": count}


def _counts(reaches: int) -> Reads:
    """Reads the number of recipients; any other number is not the answer."""

    def read(text: str) -> Heard | Again | None:
        digits = "".join(letter for letter in text if letter.isdecimal())
        if not digits:
            return None
        return Heard(reaches) if int(digits) == reaches else Again(line("bulk.other_number", count=reaches))

    return read


def _cancel() -> Option:
    return Option("cancel", line("button.cancel"))


@flow("cancel_round")
def cancel_round(start: Start) -> Flow:
    """Send no more of a round at all, once that is sure. Args: `round` and `left`."""
    key, left = str(start.args["round"]), start.args["left"]
    sure = yield Ask(
        "sure",
        line("bulk.ask.cancel", round=key, left=left),
        (Option("yes", line("bulk.order.cancel")), Option("no", line("bulk.let_go_on"))),
        columns=1,
    )
    if sure != "yes":
        yield Say(line("bulk.goes_on", round=key))
        return None
    yield OrderRound("cancelled", key, "cancel")
    yield Record("order", RoundOrdered(round=key, order="cancel"))
    yield Say(line("bulk.told.cancel", round=key))
    return None

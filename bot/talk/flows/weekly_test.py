"""The weekly test: who was in, what the strip says, and what the water needs."""

from collections.abc import Generator
from datetime import datetime, timedelta
from typing import Any

from pydantic import JsonValue, TypeAdapter

from bot.model.fact import Added, ReadingTaken, Soaked
from bot.model.tub import Method
from bot.model.zones import zone
from bot.schedule.journal import facts, last_at, open_plan
from bot.schedule.season import routine_goes_on
from bot.talk.earlier import told_apart
from bot.talk.flow import Ask, Doing, Flow, Heard, Keep, Live, Option, Record, Say, Start, Tell, Withdraw, flow
from bot.talk.flows.dosing_round import dosing_round
from bot.talk.flows.pads import ALL, READINGS, UNCLEAR, ask_which, told_json
from bot.talk.flows.routine import Occasion, dosed, routine_dose
from bot.talk.understand import agree, count
from bot.talk.words import has, line, lines, verbatim
from dosing import limits_for

METHOD: TypeAdapter[Method | None] = TypeAdapter(Method | None)
ALWAYS = ("fc", "br", "ph", "ta")
"""What every test asks for."""
USUAL_MINUTES = 30.0
"""How long a soak lasts where nobody said (common practice)."""


@flow("weekly_test")
def weekly_test(start: Start) -> Flow:
    """Args: `readings` told `at` a time, `unclear` ones among them, `method`; `why` and `text` of water not fit;
    `after`, the symptom that it was asked for; `wrong`, the entry of a test of which something was told wrong.
    """
    told = yield Keep("told", lambda live: _told(live, start))
    values = READINGS.validate_python(told["readings"])
    unclear = UNCLEAR.validate_python(told["unclear"])
    method = METHOD.validate_python(told["method"])
    why = start.args.get("why")
    if (yield from _somebody_else_is_at_it(start)):
        return None
    extra: tuple[str, ...] | None = () if why else None
    if wrong := start.args.get("wrong"):
        which = yield from ask_which("wrong", values)
        yield Withdraw("withdrawn", str(wrong))
        extra = tuple(key for key in values if key not in ALWAYS)
        values = {key: said for key, said in values.items() if which not in (key, ALL)}
    elif not why and not values and not unclear:
        yield from _soaks()
    ended = yield from dosing_round(
        start,
        prefix="",
        prefilled=values,
        unclear=unclear,
        extra=extra,
        method=method,
        head=line("test.why") if why else None,
    )
    if ended.how in ("in_range", "later"):
        yield from _routine_goes_on(start)
    after = start.args.get("after")
    if after and ended.how == "in_range":
        tested = f"guide.{after}.tested"
        yield Say(lines(line("guide.in_range"), line(tested if has(tested) else f"guide.{after}.do"), gap=" "))
    return None


def _routine_goes_on(start: Start) -> Generator[Doing, Any, None]:
    """Whoever is at the tub anyhow gives it what it needs until the next evening, where it is known what that is."""
    if not (yield Keep("goes_on", lambda live: _is_left_to_the_routine(live, start))):
        return
    if (yield from routine_dose(start, "routine.", Occasion(silent=True))) in ("done", "uneven"):
        yield from dosed(start)


def _is_left_to_the_routine(live: Live, start: Start) -> JsonValue:
    poured = facts(live.journal, Added, lambda fact: fact.step == "sanitizer")
    if any(entry.at >= start.began for entry, _ in poured):
        return False
    return routine_goes_on(live.known.tub, live.known.dealer, live.journal, live.now)


def _told(live: Live, start: Start) -> JsonValue:
    """The readings that came with the args, or in the text of a report; none if something has gone in since, or they
    were told too long ago for a dose.
    """
    nothing: dict[str, JsonValue] = {"readings": {}, "unclear": [], "method": None}
    told_at, poured_at = start.args.get("at"), last_at(live.journal, Added)
    if told_at:
        at = datetime.fromisoformat(str(told_at))
        hours = limits_for(start.dealer.locale).reading_hours
        if (poured_at and poured_at > at) or live.now - at > timedelta(hours=hours):
            return nothing
    text = start.args.get("text")
    if text is None:
        return {**nothing, **start.args}
    now = live.now.astimezone(zone(start.person.zone))
    return told_json(told_apart(str(text), now, start.tub.sanitizer if start.tub else None).heard)


def _somebody_else_is_at_it(start: Start) -> Generator[Doing, Any, bool]:
    """Whether a plan of somebody else of the household is open and left to them."""
    held = yield Keep("held", lambda live: _held(live, start))
    if held is None:
        return False
    assert isinstance(held, dict)
    name, since = verbatim(str(held["name"])), datetime.fromisoformat(str(held["since"]))
    answer = yield Ask(
        "take_over",
        line("test.held", name=name, since=since),
        (Option("leave", line("test.leave", name=name)), Option("take", line("test.take_over"))),
        columns=1,
    )
    if answer == "leave":
        yield Say(line("test.left", name=name))
        return True
    yield Tell("told", str(held["person"]), line("test.taken_over", name=verbatim(start.person.name)))
    return False


def _held(live: Live, start: Start) -> JsonValue:
    found = open_plan(live.journal)
    if found is None or found[0].person in (None, start.person.key):
        return None
    person = next((one for one in live.known.household if one.key == found[0].person), None)
    if person is None:
        return None
    return {"person": person.key, "name": person.name, "since": found[0].at.isoformat()}


def _soaks() -> Generator[Doing, Any, None]:
    """Ask who was in since the last test."""
    bathers = yield Ask(
        "soaks",
        line("test.soaks"),
        (
            Option("0", line("soaks.nobody")),
            Option("2", line("soaks.few")),
            Option("4", line("soaks.some")),
            Option("6", line("soaks.many")),
            Option("skip", line("button.skip")),
        ),
        _reads_bathers,
    )
    if bathers == "skip":
        return
    when = yield Keep("soaks.at", _halfway)
    number = int(str(bathers))
    if number:
        yield Record("soaked", Soaked(bathers=number, minutes=USUAL_MINUTES), datetime.fromisoformat(str(when)))


def _halfway(live: Live) -> JsonValue:
    """Halfway between the last test and now: nobody was asked for the day."""
    since = last_at(live.journal, ReadingTaken) or live.now - timedelta(days=1)
    return (since + (live.now - since) / 2).isoformat()


def _reads_bathers(text: str) -> Heard | None:
    number = count(text)
    if number is None and agree(text) is False:
        number = 0
    return None if number is None else Heard(str(number))

"""What an owner tells that was done: said back once, beside the readings that came with it, then written down."""

from collections.abc import Generator, Mapping, Sequence
from datetime import datetime, time, timedelta
from typing import Any

from pydantic import JsonValue

from bot.model.fact import Added, ReadingTaken, Soaked
from bot.model.zones import zone
from bot.schedule.journal import last_at
from bot.talk.flow import Ask, Doing, Flow, Heard, Keep, Live, Next, Option, Reads, Record, Say, Start, flow
from bot.talk.flows.pads import ALL, READINGS, ask_which, understood_line
from bot.talk.flows.told_events import EVENTS, Told, ask_grams, is_plain, kit_of, most_grams, told_event
from bot.talk.poured import poured
from bot.talk.understand import readings
from bot.talk.understand.events import events
from bot.talk.understand.moments import moment
from bot.talk.understand.tokens import tokens
from bot.talk.words import Line, line, lines
from dosing import Said

LATELY = timedelta(hours=6)
"""How long after a soak the dose for it is still named (common practice)."""
BACK = Option("/back", line("button.back"))
AT = {"today": (0, time(8)), "last_night": (1, time(21)), "yesterday": (1, time(12)), "two_days": (2, time(12))}
"""Times to tap: days before, and the hour by the owner's clock."""


@flow("log_event")
def log_event(start: Start) -> Flow:
    """Args: `events`, what was told; `then`, the flow that answers the rest of the text, and its args. With `then`
    nothing is asked about the past but whether it is right: what would need a question first is left out.
    """
    then = start.args.get("then")
    told: list[Told] = []
    soak: dict[str, JsonValue] = {}
    for place, event in enumerate(EVENTS.validate_python(start.args["events"])):
        if then is None or is_plain(event, kit_of(start)):
            told.append((yield from told_event(start, f"{place}.", event, asks=then is None)))
    args = dict(then["args"]) if isinstance(then, dict) and isinstance(then["args"], dict) else {}
    if told:
        told, wrong = yield from _confirmed(start, told, READINGS.validate_python(args.get("readings") or {}))
        for place, one in enumerate(told):
            entry = yield Record(f"{place}.record", one.fact, one.at)
            if isinstance(one.fact, Soaked) and one.fact.bathers and start.began - one.at < LATELY:
                soak = {"entry": str(entry)}
        args = _without(args, wrong)
        if told or not then:
            yield Say(line("log.noted" if told else "log.nothing"))
    if isinstance(then, dict):
        return Next(str(then["flow"]), args)
    if not soak and any(isinstance(one.fact, Added) for one in told):
        yield from _test_overdue(start)
    if any(one.fresh_water(start.began) for one in told):
        return (yield from _fresh_water())
    return Next("soaked", soak) if soak else None


def _without(args: Mapping[str, JsonValue], wrong: str | None) -> dict[str, JsonValue]:
    """The args of a test without the reading that was told wrong."""
    told = args.get("readings")
    if wrong is None or not isinstance(told, dict):
        return dict(args)
    return {**args, "readings": {key: said for key, said in told.items() if wrong not in (key, ALL)}}


def _confirmed(
    start: Start, told: list[Told], values: Mapping[str, Said]
) -> Generator[Doing, Any, tuple[list[Told], str | None]]:
    """Ask whether all of it is right until it is. Returns what is to be written down, and which reading is wrong."""
    number = 0
    while True:
        number += 1
        at = f"{number}."
        right = yield Ask(
            f"{at}right",
            _said_back(told, values),
            (
                Option("yes", line("button.yes")),
                Option("when", line("log.another_time")),
                Option("no", line("button.correct")),
            ),
            _reads_changes(start, told),
            name="log",
        )
        match right:
            case "yes":
                return told, None
            case "when":
                changed = yield from _which(f"{at}when.", told)
                moved = yield from _ask_when(start, f"{at}when.")
                told = [one.moved(moved) if place in changed else one for place, one in enumerate(told)]
            case {"at": str(moved)}:
                told = [one.moved(datetime.fromisoformat(moved)) for one in told]
            case {"grams": float(grams) | int(grams)}:
                told = [one.weighed(float(grams), start.person.units) for one in told]
            case _:
                what = yield from _what_is_wrong(f"{at}wrong", told, values)
                if what == "reading":
                    return told, (yield from ask_which(f"{at}reading", values))
                changed = yield from _which(f"{at}{what}.", _weighable(told) if what == "amount" else told)
                if what == "drop":
                    told = [one for place, one in enumerate(told) if place not in changed]
                    if not told:
                        return told, None
                else:
                    told = yield from _other_amounts(start, at, told, changed)


def _said_back(told: Sequence[Told], values: Mapping[str, Said]) -> Line:
    items = lines(*(one.said for one in told), gap="\n")
    if not values:
        return line("log.right", items=items)
    return line("log.right_beside", readings=understood_line(values), items=items)


def _reads_changes(start: Start, told: Sequence[Told]) -> Reads:
    """Understands another time, or another amount where one thing went in; anything else told is no answer to this."""
    product = told[0].product if len(told) == 1 else None

    def read(text: str) -> Heard | None:
        now = start.began.astimezone(zone(start.person.zone))
        if events(text, now) or readings(text).values:
            return None
        if product and (grams := poured(text, 0.0, product)) and grams <= most_grams(start):
            return Heard({"grams": round(grams, 2)})
        at, _ = moment(tokens(text), now)
        return None if at == now else Heard({"at": at.isoformat()})

    return read


def _ask_when(start: Start, at: str) -> Generator[Doing, Any, datetime]:
    """When it was: tapped or written."""
    now = start.began.astimezone(zone(start.person.zone))
    moments = {
        name: datetime.combine(now.date() - timedelta(days=days), hour, now.tzinfo) for name, (days, hour) in AT.items()
    }
    options = tuple(Option(when.isoformat(), line(f"log.when.{name}")) for name, when in moments.items() if when < now)

    def read(text: str) -> Heard | None:
        when, exact = moment(tokens(text), now)
        return None if when == now and exact else Heard(when.isoformat())

    chosen = yield Ask(
        f"{at}at", line("log.when"), (Option(now.isoformat(), line("log.when.now")), *options, BACK), read, name="when"
    )
    return datetime.fromisoformat(str(chosen))


def _what_is_wrong(key: str, told: Sequence[Told], values: Mapping[str, Said]) -> Generator[Doing, Any, str]:
    return str(
        (
            yield Ask(
                key,
                line("log.what_is_wrong"),
                (
                    *((Option("amount", line("log.wrong.amount")),) if _weighable(told) else ()),
                    *((Option("reading", line("log.wrong.reading")),) if values else ()),
                    Option("drop", line("log.wrong.drop")),
                    BACK,
                ),
                name="wrong",
                columns=1,
            )
        )
    )


def _weighable(told: Sequence[Told]) -> dict[int, Told]:
    """What went in of a known product, by its place."""
    return {place: one for place, one in enumerate(told) if isinstance(one.fact, Added) and one.product}


def _which(at: str, told: Sequence[Told] | Mapping[int, Told]) -> Generator[Doing, Any, tuple[int, ...]]:
    """The places of what is meant, asked only where there is a choice."""
    places = dict(told) if isinstance(told, Mapping) else dict(enumerate(told))
    if len(places) == 1:
        return tuple(places)
    listed = lines(*(line("log.numbered", number=place + 1, item=one.said) for place, one in places.items()), gap="\n")
    chosen = yield Ask(
        f"{at}which",
        line("log.which", items=listed),
        (
            *(Option(str(place), line("pads.value", value=place + 1)) for place in places),
            Option(ALL, line("round.all_wrong")),
            BACK,
        ),
        name="which",
        columns=3,
    )
    return tuple(places) if chosen == ALL else (int(str(chosen)),)


def _other_amounts(
    start: Start, at: str, told: Sequence[Told], changed: Sequence[int]
) -> Generator[Doing, Any, list[Told]]:
    right = list(told)
    for place in changed:
        product = right[place].product
        assert product
        grams = yield from ask_grams(f"{at}{place}.amount", product, most_grams(start))
        if grams is not None:
            right[place] = right[place].weighed(grams, start.person.units)
    return right


def _test_overdue(start: Start) -> Generator[Doing, Any, None]:
    """Who goes on dosing without a test is told so."""
    days = yield Keep("untested", _days_untested)
    if isinstance(days, int) and days > start.dealer.intervals.test:
        yield Say(line("log.test_overdue", count=days), offers=(Option("/test", line("button.test")),))


def _days_untested(live: Live) -> JsonValue:
    tested = last_at(live.journal, ReadingTaken, lambda fact: not fact.source)
    return None if tested is None else (live.now - tested).days


def _fresh_water() -> Generator[Doing, Any, Next | None]:
    begin = yield Ask(
        "start_up",
        line("log.fresh_water"),
        (Option("yes", line("log.start_up")), Option("later", line("round.test_later"))),
        name="start_up",
    )
    return Next("start_up") if begin == "yes" else None

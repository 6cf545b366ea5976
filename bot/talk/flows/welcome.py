"""Welcome: who writes, what is kept, and the little that must be known before anything can be done."""

from collections.abc import Generator
from datetime import UTC, datetime, time, timedelta
from typing import Any

from pydantic import JsonValue, TypeAdapter

from bot.model.dealer import Quiet
from bot.model.fact import Filled
from bot.model.person import Units
from bot.model.tub import Tub
from bot.model.zones import zone
from bot.schedule.journal import filled_at
from bot.talk.flow import Again, Ask, Change, Doing, Flow, Heard, Keep, Next, Option, Reads, Record, Say, Start, flow
from bot.talk.flows.about_tub import ALWAYS, TO_FILL, ask_about, ask_volume_and_sanitizer
from bot.talk.flows.measuring import BACK
from bot.talk.names import product_label, product_name
from bot.talk.places import find, zone_label
from bot.talk.understand import clock, unit_system
from bot.talk.words import Line, line, lines, verbatim
from dosing import DEFAULT_KIT, Kit

KIT: TypeAdapter[Kit] = TypeAdapter(Kit)
PLACES: TypeAdapter[list[tuple[str, str]]] = TypeAdapter(list[tuple[str, str]])
AGES: dict[str, int] = {"days": 3, "weeks": 14, "month": 30, "months": 75}
"""About how many days old the water is, by the answer offered."""


@flow("welcome")
def welcome(start: Start) -> Flow:
    """From the first hello to the first fill, or to the first test where the tub is full already."""
    assert start.tub
    units = start.person.units if start.person.agreed_at else (yield from _introduced(start))
    empty = yield from _is_empty(start.tub)
    tub = yield from ask_volume_and_sanitizer(start.tub, "tub.", units, empty=empty)
    yield from _kit(start, tub)
    tub = yield from ask_about(tub, (*TO_FILL, *ALWAYS) if empty else ALWAYS, "tub.")
    return (yield from _what_now(empty=empty))


UNITS: tuple[Units, ...] = ("metric", "us")


def _introduced(start: Start) -> Generator[Doing, Any, Units]:
    """What is agreed to and known of the person, whatever their tub is like; returns their units."""
    yield from _agree(start)
    options = tuple(Option(u, line(f"welcome.units.{u}")) for u in UNITS)
    units = yield Ask("units", line("welcome.units"), options, reads_units)
    yield Change("set.units", person={"units": units})
    yield from _place(start)
    yield from quiet_hours("quiet.", start.person.quiet)
    return "us" if units == "us" else "metric"


def _agree(start: Start) -> Generator[Doing, Any, None]:
    """Say who writes, what is kept and how to stop; go on only when that is agreed to."""
    hello = line("welcome.hello", name=verbatim(start.person.name)) if start.person.name else line("welcome.hello_you")
    yes = Option("yes", line("welcome.agree"))
    said = yield Ask(
        "agree",
        lines(
            hello,
            line("welcome.who", dealer=start.dealer.name),
            verbatim(own) if (own := start.dealer.words.greeting.get(start.person.language)) else None,
            line("welcome.kept", dealer=start.dealer.name),
        ),
        (yes, Option("no", line("welcome.disagree"))),
        columns=1,
    )
    times = 1
    while said != "yes":
        times += 1
        erase = Option("/erase", line("welcome.erase"))
        said = yield Ask(f"agree.{times}", line("welcome.without"), (yes, erase), name="agree", columns=1)
    moment = yield Keep("agreed", lambda live: live.now.isoformat())
    yield Change("set.agreed", person={"agreed_at": moment})


def reads_units(text: str) -> Heard | None:
    """The system of units that a text names."""
    said = unit_system(text)
    return Heard(said) if said else None


def _place(start: Start) -> Generator[Doing, Any, None]:
    """The time zone, by the nearest town."""
    language, dealers = start.person.language, start.dealer.zone
    same = Option(dealers, line("welcome.same_zone", city=verbatim(zone_label(dealers, language)[:15])))
    chosen: JsonValue = None
    times = 0
    while not isinstance(chosen, str) or chosen == "other":
        times += 1
        nth = "" if times == 1 else f".{times}"
        reads = reads_place(dealers, language)
        chosen = yield Ask(f"place{nth}", line("welcome.place"), (same, BACK), reads, name="place")
        if isinstance(chosen, dict):
            found = PLACES.validate_python(chosen["places"])
            options = tuple(Option(name, line("welcome.place_choice", place=label)) for label, name in found)
            other = Option("other", line("welcome.other_place"))
            text = line("welcome.which_place")
            chosen = yield Ask(f"place.which{nth}", text, (*options, other, BACK), name="place.which", columns=1)
    yield Change("set.zone", person={"zone": chosen})
    now = yield Keep("clock", lambda live: live.now.isoformat())
    yield Say(line("welcome.clock", at=datetime.fromisoformat(str(now)).astimezone(zone(chosen)).time()))


def reads_place(near_zone: str, language: str) -> Reads:
    """A place as its zone; several that it may mean as `places`: pairs of what to call each and its zone."""

    def read(text: str) -> Heard | Again | None:
        found = find(text[:80], near_zone)
        if not found:
            return Again(line("welcome.unknown_place")) if len(text.split()) <= 3 else None
        if len(found) == 1:
            return Heard(found[0].zone)
        return Heard({"places": [[place.label(language), place.zone] for place in found]})

    return read


def quiet_hours(at: str, quiet: Quiet) -> Generator[Doing, Any, None]:
    """When to be silent: the dealer's hours in one tap, or the owner's own."""
    fine = yield Ask(
        f"{at}fine",
        line("welcome.quiet", start=quiet.start, end=quiet.end),
        (Option("yes", line("welcome.quiet.yes")), Option("other", line("welcome.quiet.other")), BACK),
        name="quiet",
    )
    if fine == "yes":
        yield Change(f"{at}set", person={"quiet": quiet.model_dump(mode="json")})
        return
    start = yield from _clock(f"{at}start", line("welcome.quiet.start"), (20, 21, 22, 23))
    end = yield from _clock(f"{at}end", line("welcome.quiet.end"), (7, 8, 9, 10))
    yield Change(f"{at}set", person={"quiet": {"start": start, "end": end}})


def _clock(key: str, text: Line, hours: tuple[int, ...]) -> Generator[Doing, Any, str]:
    options = tuple(Option(time(hour).isoformat(), line("welcome.quiet.at", at=time(hour))) for hour in hours)
    return str((yield Ask(key, text, (*options, BACK), _reads_clock)))


def _reads_clock(text: str) -> Heard | None:
    said = clock(text)
    return None if said is None else Heard(said.isoformat())


def _is_empty(tub: Tub) -> Generator[Doing, Any, bool]:
    """Whether the tub is still to be filled. Asked only of a tub that the dealer has said nothing about."""
    if (yield Keep("filled", lambda live: filled_at(live.journal) is not None)):
        return False
    if any((tub.volume, tub.sanitizer, tub.past, tub.model, tub.serial, tub.delivered, tub.supply)):
        return True
    if (yield Ask("full", line("welcome.full"), (*YES_NO, BACK))) == "no":
        return True
    age = yield Ask("age", line("welcome.age"), (*(Option(age, line(f"welcome.age.{age}")) for age in AGES), BACK))
    now = yield Keep("age.now", lambda live: live.now.isoformat())
    filled = datetime.fromisoformat(str(now)) - timedelta(days=AGES[str(age)])
    yield Record("already_filled", Filled(), filled.astimezone(UTC))
    return False


YES_NO = (Option("yes", line("button.yes")), Option("no", line("button.no")))


def _kit(start: Start, tub: Tub) -> Generator[Doing, Any, None]:
    """Which products are at hand, where neither the dealer nor the owner has said."""
    if tub.kit is not None or start.dealer.kit != DEFAULT_KIT:
        return
    names = tuple(product.key for product in start.dealer.kit.products)
    all_of_them = yield Ask(
        "kit",
        line("welcome.kit", products=tuple(product_name(name) for name in names)),
        (Option("yes", line("welcome.kit.all")), Option("some", line("welcome.kit.some")), BACK),
    )
    lacking: list[str] = []
    while all_of_them == "some" and len(lacking) < len(names):
        options = tuple(Option(name, product_label(name)) for name in names if name not in lacking)
        done = (Option("done", line("welcome.kit.done")), BACK) if lacking else (BACK,)
        text = line("welcome.kit.lacks" if not lacking else "welcome.kit.lacks_more")
        one = yield Ask(f"kit.lacks.{len(lacking)}", text, (*options, *done), name="lacks", columns=1)
        if one == "done":
            break
        lacking.append(str(one))
    if lacking:
        kit = start.dealer.kit.without(*lacking)
        yield Change("set.kit", tub={"kit": KIT.dump_python(kit, mode="json")})


def _what_now(*, empty: bool) -> Generator[Doing, Any, Next | None]:
    if empty:
        yield Say(line("welcome.now_fill"))
        return Next("first_fill")
    test = yield Ask(
        "test_now",
        line("welcome.test_now"),
        (Option("yes", line("button.test")), Option("later", line("welcome.test_later")), BACK),
    )
    if test == "yes":
        return Next("weekly_test")
    yield Say(line("welcome.test_any_time"))
    return None

"""First fill: from a dry tub to one that is full, runs without air in its pipes, and heats."""

from collections.abc import Generator
from datetime import datetime, timedelta
from typing import Any

from pydantic import JsonValue

from bot.model.fact import Filled
from bot.model.tub import Tub
from bot.model.zones import zone
from bot.schedule.filling import fill_minutes, heat_up_hours
from bot.schedule.journal import filled_at
from bot.talk.flow import (
    Again,
    Ask,
    Change,
    Doing,
    Flow,
    Heard,
    Keep,
    Live,
    Next,
    Option,
    Record,
    Say,
    Start,
    Wait,
    flow,
)
from bot.talk.flows.cautions import warn
from bot.talk.flows.fill_steps import BEFORE_WATER, DRY, FULL, HOSE, PURGE, RUNNING, FillStep, needs_purge
from bot.talk.flows.hand_over import hand_over
from bot.talk.flows.measuring import BACK, hose_flow, volume_by_time
from bot.talk.understand import temperature
from bot.talk.words import Line, Span, Temperature, Volume, line, lines

DONE = Option("done", line("button.done"))
STUCK = Option("stuck", line("button.stuck"))
LOOK_AGAIN_MINUTES = 10
"""After a fill that took longer than computed. Common practice."""
TAP_WATER = 12.0
"""degC of cold mains water where nobody has measured it. Common practice: 5 in winter to 20 in summer."""
TARGETS = {"metric": (36.0, 37.0, 38.0), "us": (97.0, 99.0, 101.0)}
TOO_HOT = 40.0
"""degC: no bathing above (US CPSC, 1979; US CDC)."""
HEATER_KW = {
    ("plug_in", "us"): 1.0,
    ("plug_in", "metric"): 1.5,
    ("hard_wired", "us"): 4.0,
    ("hard_wired", "metric"): 3.0,
}
"""Heater power where nobody knows it, by supply and units: an ordinary outlet of 120 V or 230 V feeds no more, a fixed
line usually feeds this. Common practice."""


@flow("first_fill")
def first_fill(start: Start) -> Flow:
    """From the dry tub to the start-up water."""
    tub = start.tub
    assert tub
    if (yield from _is_full(start)) == "refill":
        return Next("refill")
    yield from _steps(start, tub, BEFORE_WATER)
    if needs_purge(tub):
        yield from _purge(start, tub)
    yield from _steps(start, tub, DRY)
    flow_rate = yield from hose_flow("hose.", start.person.units)
    minutes = fill_minutes(tub.volume, flow_rate) if tub.volume and flow_rate else None
    yield from _steps(start, tub, HOSE, None if minutes is None else line("fill.takes", span=Span(minutes)))
    yield from _fill(start, minutes)
    yield from _steps(start, tub, FULL)
    litres = tub.volume or (yield from _measured(flow_rate))
    yield Record("filled", Filled(litres=litres))
    yield from _steps(start, tub, RUNNING)
    warm_at = yield from _heat(start, tub, litres)
    return Next("start_up", {"heating": True, "warm_at": warm_at})


def _is_full(start: Start) -> Generator[Doing, Any, str]:
    """Ask what is meant where the tub has been filled already."""
    since = yield Keep("filled_at", _filled_at)
    if since is None:
        return "empty"
    day = datetime.fromisoformat(str(since)).astimezone(zone(start.person.zone)).date()
    options = (Option("refill", line("fill.refill")), Option("first", line("fill.first")))
    return str((yield Ask("already", line("fill.already", at=day), options)))


def _filled_at(live: Live) -> JsonValue:
    at = filled_at(live.journal)
    return at.isoformat() if at else None


def _steps(
    start: Start, tub: Tub, steps: tuple[FillStep, ...], head: Line | None = None
) -> Generator[Doing, Any, None]:
    for step in steps:
        if step.matters(tub):
            yield from _step(start, tub, step, head)
            head = None


def _step(start: Start, tub: Tub, step: FillStep, head: Line | None = None) -> Generator[Doing, Any, None]:
    """One step, with its caution, until it is done."""
    caution = (yield from warn(step.key, step.caution)) if step.caution else None
    text = lines(head, caution, lines(step.words("do", tub), step.words("why", tub), gap="\n"))
    if (yield Ask(step.key, text, (DONE, STUCK, BACK))) == "stuck":
        yield from _stuck(start, step.key, step.key, step.words("causes", tub))


def _stuck(start: Start, key: str, about: str, causes: Line) -> Generator[Doing, Any, None]:
    """The usual causes in order, then a technician. Ends when the owner says that it works."""
    options = (Option("done", line("fill.fixed")), Option("still", line("fill.still_stuck")), BACK)
    if (yield Ask(f"{key}.stuck", causes, options, name="stuck")) == "done":
        return
    said = yield Ask(
        f"{key}.stuck.words",
        line("fill.what_happens"),
        (Option("", line("fill.just_call")), BACK),
        _reads_words,
        name="stuck.words",
    )
    yield from hand_over(start, f"{key}.case", (f"fill_{about}",), str(said))
    staff = yield Keep(f"{key}.staff", lambda live: bool(live.known.staff))
    text = line("fill.called" if staff else "fill.call_them", dealer=start.dealer.name)
    yield Ask(f"{key}.solved", text, (Option("done", line("fill.works_now")), BACK), name="solved")


def _reads_words(text: str) -> Heard:
    return Heard(text[:1000])


def _purge(start: Start, tub: Tub) -> Generator[Doing, Any, None]:
    """Clean the pipes, unless that has been done since the tub held water."""
    purged = yield Ask(
        "purge",
        line(f"fill.purge.{tub.past or 'unknown'}"),
        (Option("yes", line("fill.purge.done_already")), Option("no", line("fill.purge.not_yet")), BACK),
    )
    if purged == "no":
        yield from _steps(start, tub, PURGE)


def _fill(start: Start, minutes: float | None) -> Generator[Doing, Any, None]:
    """Wait until it is full, by the computed time or sooner."""
    early = (Option("full", line("fill.full_now")), STUCK, BACK)
    if minutes is not None:
        ended = yield Wait("filling", minutes, line("fill.filling", span=Span(minutes)), early, round(minutes))
        if ended == "full":
            return
        if ended == "stuck":
            yield from _stuck(start, "filling", "full", line("fill.full.causes"))
    else:
        yield Say(line("fill.filling_untimed"))
    times = 1
    while True:
        nth = "" if times == 1 else f".{times}"
        options = (Option("done", line("fill.full_now")), Option("wait", line("fill.not_yet")), STUCK, BACK)
        match (yield Ask(f"full{nth}", line("fill.full"), options, name="full")):
            case "done":
                return
            case "stuck":
                yield from _stuck(start, f"full{nth}", "full", line("fill.full.causes"))
        wait = LOOK_AGAIN_MINUTES
        if (yield Wait(f"filling{nth}.more", wait, line("fill.filling", span=Span(wait)), early[::2])) == "full":
            return
        times += 1


def _measured(litres_a_minute: float | None) -> Generator[Doing, Any, float | None]:
    """The volume, by how long the hose ran."""
    if litres_a_minute is None:
        return None
    litres = yield from volume_by_time("took", litres_a_minute, line("fill.took"))
    if litres is not None:
        yield Change("set.volume", tub={"volume": litres})
    return litres


def _heat(start: Start, tub: Tub, litres: float | None) -> Generator[Doing, Any, JsonValue]:
    """Set the temperature; returns the moment at which it will be reached, if it can be computed."""
    target = yield from _target(start)
    measured = yield Ask(
        "water_now",
        line("fill.water_now"),
        (
            *(Option(str(t), line("fill.degrees", temperature=Temperature(t))) for t in (8.0, 12.0, 16.0, 20.0)),
            Option("unknown", line("fill.no_thermometer")),
            BACK,
        ),
        _reads_water,
        name="temp",
    )
    water = TAP_WATER if measured == "unknown" else float(str(measured))
    if litres is None:
        yield Say(line("fill.heats_untimed"))
        return None
    kilowatts = tub.heater_kw or HEATER_KW[tub.supply or "plug_in", start.person.units]
    hours = heat_up_hours(litres, kilowatts, water, target)
    now = yield Keep("heating.from", lambda live: live.now.isoformat())
    warm_at = datetime.fromisoformat(str(now)) + timedelta(hours=hours)
    jets = "jets_off" if tub.supply != "hard_wired" else "jets_free"
    yield Say(
        lines(
            line("fill.heats", volume=Volume(litres), span=Span(hours * 60), at=warm_at, kilowatts=kilowatts),
            line(f"fill.heats.{jets}"),
            gap="\n",
        )
    )
    return warm_at.isoformat()


def _target(start: Start) -> Generator[Doing, Any, float]:
    offered = TARGETS[start.person.units]
    celsius = offered if start.person.units == "metric" else tuple(round((f - 32) / 1.8, 2) for f in offered)
    options = tuple(Option(str(t), line("fill.degrees", temperature=Temperature(t))) for t in celsius)
    said = yield Ask("target", line("fill.target"), (*options, STUCK, BACK), _reads_target, columns=3)
    if said == "stuck":
        yield from _stuck(start, "target", "target", line("fill.target.causes"))
        said = yield Ask("target.again", line("fill.target"), (*options, BACK), _reads_target, name="target", columns=3)
    return float(str(said))


def _reads_target(text: str) -> Heard | Again | None:
    said = temperature(text)
    if said is None:
        return None
    if said > TOO_HOT:
        return Again(line("fill.too_hot", most=Temperature(TOO_HOT)))
    return Heard(str(round(said, 1))) if said >= 10 else Again(line("fill.too_cold"))


def _reads_water(text: str) -> Heard | Again | None:
    said = temperature(text)
    if said is None:
        return None
    return Heard(str(round(said, 1))) if 0 < said <= 60 else Again(line("fill.water_implausible"))

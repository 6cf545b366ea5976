"""When somebody wants fewer messages, none at all, or to be forgotten: holiday, quiet hours, reminders, erasing."""

from collections.abc import Iterator
from datetime import date, time, timedelta

from pydantic import JsonValue

from bot.model.fact import Paused, ReminderAnswered
from bot.model.zones import zone
from bot.schedule.local import at_local, local_day
from bot.schedule.reminders import NAMES, reminders_of
from bot.schedule.season import wants_a_dose
from bot.talk.flow import Ask, Change, Erase, Flow, Heard, Keep, Live, Next, Option, Reads, Record, Say, Start, flow
from bot.talk.flows.welcome import quiet_hours as ask_quiet_hours
from bot.talk.understand import day, duration
from bot.talk.words import line, lines

LONG_DAYS = 14
"""A longer holiday asks for more than a full dose before leaving (common practice)."""
MINUTES_A_DAY = 1440


def today_of(start: Start) -> date:
    """The date where the person lives, when the flow began."""
    return start.began.astimezone(zone(start.person.zone)).date()


def reads_day(today: date) -> Reads:
    """Reads a day to come: a date, a weekday, or so many days from now."""

    def read(text: str) -> Heard | None:
        found = day(text, today)
        if found is None and (minutes := duration(text)) is not None and minutes >= MINUTES_A_DAY:
            found = today + timedelta(days=round(minutes / MINUTES_A_DAY))
        return Heard(found.isoformat()) if found and found > today else None

    return read


@flow("pause")
def pause(start: Start) -> Flow:
    """A holiday: until when nobody is reminded of anything."""
    today = today_of(start)
    paused = start.person.paused_until is not None and start.person.paused_until > start.began
    answer = yield Ask(
        "until",
        line("pause.until"),
        (
            *(
                Option((today + timedelta(weeks=weeks)).isoformat(), line("pause.weeks", count=weeks))
                for weeks in (1, 2, 3)
            ),
            Option("now", line("pause.end")) if paused else Option("cancel", line("button.cancel")),
        ),
        reads_day(today),
    )
    if answer == "cancel":
        yield Say(line("pause.not_set"))
        return None
    if answer == "now":
        yield Record("ended", Paused(until=None))
        yield Change("set", person={"paused_until": None})
        yield Say(line("pause.ended"))
        return None
    back = date.fromisoformat(str(answer))
    until = at_local(back, time(0), zone(start.person.zone))
    yield Record("paused", Paused(until=until))
    yield Change("set", person={"paused_until": until})
    yield Say(line("pause.set", day=back))
    yield Say(line("pause.long" if (back - today).days > LONG_DAYS else "pause.short"))
    return Next("holiday_dose")


@flow("later")
def later(start: Start) -> Flow:
    """Put a reminder off. Args: `what`, the names of the reminders."""
    today = today_of(start)
    names = start.args["what"]
    assert isinstance(names, list)
    chosen = yield Ask(
        "until",
        line("later.until"),
        (
            Option((today + timedelta(days=1)).isoformat(), line("later.tomorrow")),
            Option((today + timedelta(days=3)).isoformat(), line("later.three_days")),
            Option("pick", line("later.pick")),
        ),
        reads_day(today),
        columns=1,
    )
    if chosen == "pick":
        chosen = yield Ask("day", line("later.day"), _next_days(today), reads_day(today), columns=2)
    on = date.fromisoformat(str(chosen))
    until = at_local(on, time(12), zone(start.person.zone))
    for what in NAMES:
        if what in names:
            yield Record(f"put_off.{what}", ReminderAnswered(what=what, answer="later", until=until))
    dose = "test" in names and (yield Keep("dose", _wants_a_dose))
    yield Say(line("later.set", day=on), offers=(Option("/dose", line("button.dose")),) if dose else ())
    return None


def _wants_a_dose(live: Live) -> JsonValue:
    """Whether the routine has a dose for today, which a test that is put off does not put off."""
    return wants_a_dose(live.known.tub, live.known.dealer, live.journal, live.now)


def _next_days(today: date) -> tuple[Option, ...]:
    days = (today + timedelta(days=ahead) for ahead in (2, 4, 5, 6, 7, 10))
    return tuple(Option(one.isoformat(), line("day.name", day=one)) for one in days)


@flow("quiet_hours")
def quiet_hours(start: Start) -> Flow:
    """The hours in which nothing but an answer is sent."""
    yield from ask_quiet_hours("", start.person.quiet)
    yield Say(line("quiet.set"))
    return None


@flow("reminders")
def which_reminders(start: Start) -> Flow:
    """Which reminders somebody gets: each can be taken off and put back."""
    off = yield Keep("off", lambda live: [*_not_mine(live, start)])
    coming = yield Keep("coming", lambda live: [*_coming(live, start)])
    assert isinstance(off, list)
    assert isinstance(coming, list)
    told = (line("tub.next.task", task=line(f"task.{what}"), at=date.fromisoformat(str(on))) for what, on in coming)
    chosen = yield Ask(
        "which",
        lines(lines(line("tub.next"), *told, gap="\n") if coming else None, line("reminders.which")),
        (
            *(Option(what, line(f"reminders.{'on' if what in off else 'off'}.{what}")) for what in NAMES),
            Option("none", line("reminders.as_it_is")),
        ),
        columns=2,
    )
    if chosen != "none":
        back = chosen in off
        answer = {"what": chosen, "answer": "later" if back else "not_mine", "until": start.began if back else None}
        yield Record("set", ReminderAnswered.model_validate(answer))
    yield Say(line("reminders.set"))
    return None


def _coming(live: Live, start: Start) -> Iterator[JsonValue]:
    """The tasks to come and their days, soonest first."""
    tub = live.known.tub
    if tub is None:
        return
    dues = reminders_of(start.person, tub, live.known.dealer, live.journal, live.now)
    for due in sorted(dues, key=lambda due: due.at):
        yield [due.what, local_day(due.at, zone(start.person.zone)).isoformat()]


def _not_mine(live: Live, start: Start) -> list[str]:
    said: dict[str, str] = {}
    for entry in live.journal:
        if (
            isinstance(entry.fact, ReminderAnswered)
            and entry.person == start.person.key
            and entry.fact.answer != "sent"
        ):
            said[entry.fact.what] = entry.fact.answer
    return [what for what, answer in said.items() if answer == "not_mine"]


@flow("erase")
def erase(_: Start) -> Flow:
    """Forget a person, once they have said that they mean it."""
    sure = yield Ask(
        "sure",
        line("erase.sure"),
        (Option("yes", line("erase.yes")), Option("no", line("erase.no"))),
        columns=1,
    )
    if sure == "yes":
        yield Erase("erase")
        yield Say(line("erase.done"))
    else:
        yield Say(line("erase.kept"))
    return None

"""What an owner can look at: the tub as it is known, and what was tested and added last."""

from bot.model.enclosure import Chart
from bot.model.fact import Added, Entry, Filled, FilterCared, ReadingTaken, Refilled
from bot.model.message import Button
from bot.schedule.calendar import calendar_of
from bot.schedule.care import Care, has_water
from bot.schedule.journal import facts, filled_at, in_danger, last_at
from bot.schedule.reminders import reminders_of
from bot.talk.amounts import mass
from bot.talk.buttons import CommandButton, encode
from bot.talk.draft import Draft
from bot.talk.drawings import care_drawing, care_file, water_chart
from bot.talk.names import product_name, reading_line, reason_line
from bot.talk.words import Line, Volume, line, lines
from dosing import limits_for

SHOWN = 8
"""How many tests and doses the history shows: as many as fit a phone's screen."""

MENU = (("test", "soaked"), ("card", "calendar"), ("tub", "history"), ("person", "help"))


def care_menu(draft: Draft) -> tuple[tuple[Button, ...], ...]:
    """What may be done when nothing is open. A tub that holds no water yet is filled first."""
    rows = MENU if draft.tub is None or has_water(draft.journal) else (("fill",), *MENU[1:])
    return tuple(tuple(button_of(draft, name) for name in row) for row in rows)


def button_of(draft: Draft, name: str) -> Button:
    """The button of a command."""
    return Button(label=draft.words.text(line(f"button.{name}")), data=encode(CommandButton(name)))


def my_tub(draft: Draft) -> None:
    """What is known of the tub, what is open and what comes next."""
    tub = draft.tub
    if tub is None:
        draft.say(line("tub.none"), care_menu(draft))
        return
    journal = draft.journal
    filled = filled_at(journal)
    tested = last_at(journal, ReadingTaken, lambda fact: not fact.source)
    filter_ = last_at(journal, FilterCared)
    parts = (
        line("tub.volume", volume=Volume(tub.volume) if tub.volume else line("unknown")),
        line("tub.sanitizer", sanitizer=line(f"sanitizer.{tub.sanitizer}") if tub.sanitizer else line("unknown")),
        line("tub.model", model=tub.model) if tub.model else None,
        line("tub.bathers", count=tub.bathers) if tub.bathers else None,
        line("tub.filled", at=filled) if filled else line("tub.not_filled"),
        line("tub.tested", at=tested) if tested else None,
        line("tub.filter", at=filter_) if filter_ else None,
        line("danger.paused") if in_danger(journal) else None,
    )
    draft.say(lines(lines(*parts, gap="\n"), _coming(draft)), care_menu(draft))


def _coming(draft: Draft) -> Line | None:
    """What this person is reminded of next, soonest first."""
    assert draft.person
    assert draft.tub
    dues = reminders_of(draft.person, draft.tub, draft.known.dealer, draft.journal, draft.now)
    soon = sorted(dues, key=lambda due: due.at)[:3]
    if not soon:
        return None
    told = (
        line("tub.next.task", task=line(f"task.{due.what}"), at=due.at.astimezone(draft.words.zone).date())
        for due in soon
    )
    return lines(lines(line("tub.next"), *told, gap="\n"), _next_water(draft))


def _next_water(draft: Draft) -> Line | None:
    """When the water is changed, and why then."""
    assert draft.person
    assert draft.tub
    care = Care(draft.person, draft.tub, draft.known.dealer, draft.journal, draft.now)
    at, why = care.first("refill"), care.reason("refill")
    if at is None or why is None:
        return None
    day = line("tub.refill", at=at.astimezone(draft.words.zone).date()) if at > draft.now else line("tub.refill_due")
    return lines(day, reason_line("refill", why), gap=" ")


def history(draft: Draft) -> None:
    """The last tests and doses in words, the newest last."""
    told = tuple(told for entry in draft.journal if (told := _event(draft, entry)) is not None)[-SHOWN:]
    if not told:
        draft.say(line("history.nothing"), care_menu(draft))
        return
    picture = chart_of(draft)
    if picture is not None:
        draft.say(line("chart.caption"), enclosure=picture)
    draft.say(lines(line("history.head"), lines(*told, gap="\n")), care_menu(draft))


def chart(draft: Draft) -> None:
    """The tests of the last weeks as a picture."""
    picture = chart_of(draft)
    if picture is None:
        draft.say(line("chart.none"), care_menu(draft))
    else:
        draft.say(line("chart.caption"), care_menu(draft), enclosure=picture)


def chart_of(draft: Draft) -> Chart | None:
    """The chart of this tub; None where there are too few tests."""
    if draft.tub is None:
        return None
    dealer = draft.known.dealer
    scale = draft.tub.scale or dealer.scale
    return water_chart(draft.words, draft.tub, scale, limits_for(dealer.locale), draft.journal, draft.now)


def calendar(draft: Draft) -> None:
    """The care that is to come: in words with a picture of it, and as a file for the owner's own calendar."""
    assert draft.person
    if draft.tub is None:
        draft.say(line("tub.none"), care_menu(draft))
        return
    days = calendar_of(draft.person, draft.tub, draft.known.dealer, draft.journal, draft.now)
    if not days:
        draft.say(line("calendar.empty"), care_menu(draft))
        return
    soonest = {day.what: day for day in reversed(days)}
    told = (
        line("calendar.day", task=line(f"calendar.{day.what}"), at=day.at.astimezone(draft.words.zone).date())
        for day in sorted(soonest.values(), key=lambda day: day.at)[:SHOWN]
    )
    text = lines(line("calendar.head"), lines(*told, gap="\n"), _next_water(draft))
    draft.say(text, enclosure=care_drawing(draft.words, days, draft.now))
    draft.say(line("calendar.file"), care_menu(draft), enclosure=care_file(draft.words, draft.tub, days, draft.now))


def _tests(draft: Draft) -> list[tuple[Entry, ReadingTaken]]:
    return facts(draft.journal, ReadingTaken, lambda fact: not fact.source)


def _event(draft: Draft, entry: Entry) -> Line | None:  # noqa: PLR0911 (one kind of entry, one sentence)
    units = draft.person.units if draft.person else "metric"
    match entry.fact:
        case ReadingTaken(source=False) as reading:
            return line("history.tested", at=entry.at, values=reading_line(reading))
        case ReadingTaken() if any(test.at == entry.at for test, _ in _tests(draft)):
            return None
        case ReadingTaken() as reading:
            return line("history.source", at=entry.at, values=reading_line(reading))
        case Added(product=product, grams=grams, substances=substances):
            name = product_name(product or next(iter(substances), None))
            if not grams:
                return line("history.added_some", at=entry.at, product=name)
            return line("history.added", at=entry.at, product=name, amount=mass(grams, units))
        case Filled():
            return line("history.filled", at=entry.at)
        case Refilled(litres=None):
            return line("history.refilled", at=entry.at)
        case Refilled(litres=litres):
            return line("history.part_refilled", at=entry.at, volume=Volume(litres or 0))
        case FilterCared(what=what):
            return line(f"history.filter.{what}", at=entry.at)
    return None

"""The days to come on a sheet: month by month, each task with a sign and a letter, and a list in words beneath."""

from collections.abc import Mapping, Sequence
from datetime import date, timedelta

from babel import Locale
from babel.dates import format_skeleton, get_day_names, get_month_names
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

from bot.model.enclosure import CalendarDrawing, Planned, Task
from bot.pictures.phone import ADDED, BAND, INK, READING, png, sheet

SIGNS: Mapping[Task, tuple[str, str]] = {
    "test": ("o", READING),
    "dose": ("d", "#56B4E9"),
    "shock": ("*", ADDED),
    "rinse": ("v", BAND),
    "soak": ("s", BAND),
    "replace": ("P", BAND),
    "cartridge": ("h", "#CC79A7"),
    "purge": ("<", "#E69F00"),
    "refill": ("D", "#E69F00"),
    "cover": ("^", INK),
    "winter": ("X", INK),
}
"""Each task's sign and colour; the sign alone tells them apart."""
MONTHS = 2
LISTED = 12
CELL = 0.52


def calendar_picture(drawing: CalendarDrawing) -> bytes:
    """The calendar as a PNG. ValueError where nothing is planned."""
    if not drawing.planned:
        raise ValueError("a calendar needs something that is planned")
    locale = Locale.parse(drawing.language)
    months = _months(drawing)
    weeks = [_weeks(month, locale) for month in months]
    listed = _soonest(drawing.planned)
    heights = [0.75 + CELL * len(rows) for rows in weeks] + [0.3 + 0.3 * len(listed)]
    figure = sheet(0.5 + sum(heights))
    figure.suptitle(drawing.title, fontsize=13, fontweight="bold", color=INK)
    grid = figure.subplots(len(heights), 1, squeeze=False, gridspec_kw={"height_ratios": heights})
    for axes, month, rows in zip(grid[:, 0], months, weeks, strict=False):
        _month(axes, month, rows, drawing, locale)
    _list(grid[-1, 0], listed, drawing.language)
    return png(figure)


def _months(drawing: CalendarDrawing) -> list[date]:
    """The first day of each month that is shown: this one, if anything is left of it, and the next."""
    first = min(planned.day for planned in drawing.planned).replace(day=1)
    first = max(first, drawing.today.replace(day=1))
    return [first, (first + timedelta(days=32)).replace(day=1)][:MONTHS]


def _weeks(month: date, locale: Locale) -> list[list[date]]:
    start = month - timedelta(days=(month.weekday() - locale.first_week_day) % 7)
    weeks = []
    while start < month or start.month == month.month:
        weeks.append([start + timedelta(days=day) for day in range(7)])
        start += timedelta(days=7)
    return weeks


def _soonest(planned: Sequence[Planned]) -> list[Planned]:
    """The soonest of each task, by day."""
    first: dict[Task, Planned] = {}
    for one in sorted(planned, key=lambda one: one.day):
        first.setdefault(one.task, one)
    return list(first.values())[:LISTED]


def _month(axes: Axes, month: date, weeks: list[list[date]], drawing: CalendarDrawing, locale: Locale) -> None:
    by_day: dict[date, list[Planned]] = {}
    for planned in drawing.planned:
        by_day.setdefault(planned.day, []).append(planned)
    name = get_month_names("wide", context="stand-alone", locale=locale)[month.month]
    axes.set_title(f"{name} {month.year}", fontsize=12, loc="left", color=INK)
    names = get_day_names("abbreviated", context="stand-alone", locale=locale)
    for column in range(7):
        weekday = names[(locale.first_week_day + column) % 7]
        axes.text(column + 0.5, -0.15, weekday, ha="center", va="center", fontsize=10, color="#555555")
    for row, week in enumerate(weeks):
        for column, day in enumerate(week):
            if day.month == month.month:
                _cell(axes, column, row, day, by_day.get(day, []), today=day == drawing.today)
    axes.set_xlim(0, 7)
    axes.set_ylim(len(weeks) + 0.05, -0.4)
    axes.axis("off")


def _cell(axes: Axes, column: int, row: int, day: date, planned: list[Planned], *, today: bool) -> None:
    axes.add_patch(
        Rectangle(
            (column + 0.03, row + 0.05),
            0.94,
            0.9,
            facecolor="#f2f2f2" if planned else "white",
            edgecolor=INK if today else "#cccccc",
            linewidth=2.0 if today else 0.6,
        )
    )
    axes.text(column + 0.1, row + 0.3, str(day.day), fontsize=10, color=INK, va="center")
    tasks = list(dict.fromkeys(one.task for one in planned))[:4]
    for place, task in enumerate(tasks):
        marker, colour = SIGNS[task]
        axes.plot(column + 0.2 + 0.22 * place, row + 0.7, marker=marker, color=colour, markersize=8)


def _list(axes: Axes, listed: list[Planned], language: str) -> None:
    for row, planned in enumerate(listed):
        marker, colour = SIGNS[planned.task]
        axes.plot(0.12, row + 0.5, marker=marker, color=colour, markersize=8)
        day = format_skeleton("MMMd", planned.day, locale=language)
        axes.text(0.35, row + 0.5, day, fontsize=10.5, color=INK, va="center", fontweight="bold")
        axes.text(1.5, row + 0.5, planned.name, fontsize=10.5, color=INK, va="center")
    axes.set_xlim(0, 7)
    axes.set_ylim(max(len(listed), 1), 0)
    axes.axis("off")

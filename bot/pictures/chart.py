"""Readings, doses and bathing over time, for a phone held upright.

A reading is a bar from the least to the most that it may be, with a dot at its likely value; an open end has an arrow.
The band that is in range is shaded, hatched and named. What was added and who bathed are rows of signs underneath.
"""

from datetime import datetime, timedelta
from itertools import cycle
from zoneinfo import ZoneInfo

from babel.dates import format_skeleton
from babel.numbers import format_decimal
from matplotlib.axes import Axes
from matplotlib.ticker import FixedLocator, FuncFormatter, MaxNLocator

from bot.model.enclosure import Chart, Mark, Panel, Row
from bot.pictures.phone import ADDED, BAND, INK, READING, png, sheet

MARKERS = ("o", "s", "^", "D", "v", "P", "X", "*")
MOST_TICKS = 5
EPOCH = datetime(1970, 1, 1)  # noqa: DTZ001 (a wall's clock: the chart counts days by it)
ROOM = 0.12
"""Share of a panel's span that is kept free above and below."""


def chart_picture(chart: Chart) -> bytes:
    """The chart as a PNG. ValueError where nothing was read."""
    panels = [panel for panel in chart.panels if panel.marks]
    if not panels:
        raise ValueError("a chart needs at least one reading")
    heights = [2.0] * len(panels) + ([0.45 + 0.28 * len(chart.rows)] if chart.rows else [])
    figure = sheet(0.9 + sum(heights))
    figure.suptitle(chart.title, fontsize=13, fontweight="bold", color=INK)
    grid = figure.subplots(len(heights), 1, sharex=True, squeeze=False, gridspec_kw={"height_ratios": heights})
    axes = list(grid[:, 0])
    for place, panel in zip(axes, panels, strict=False):
        _panel(place, panel, chart)
    if chart.rows:
        _rows(axes[-1], chart.rows, ZoneInfo(chart.zone))
    _days(axes[-1], chart)
    return png(figure)


def _panel(axes: Axes, panel: Panel, chart: Chart) -> None:
    zone = ZoneInfo(chart.zone)
    low, high = panel.fine
    axes.axhspan(low, high, facecolor=BAND, alpha=0.16, edgecolor=BAND, hatch="//", linewidth=0)
    ends = [end for mark in panel.marks for end in (mark.low, mark.likely, mark.high) if end is not None]
    bottom, top = min([low, *ends]), max([high, *ends])
    room = (top - bottom) * ROOM
    axes.set_ylim(max(0.0, bottom - room) if bottom - room < bottom else bottom, top + room)
    axes.plot(
        [_place(mark.at, zone) for mark in panel.marks],
        [mark.likely for mark in panel.marks],
        color=READING,
        linewidth=0.8,
        alpha=0.5,
    )
    for mark in panel.marks:
        _mark(axes, mark, zone)
    last = panel.marks[-1]
    axes.annotate(
        _number(last.likely, chart.language),
        (_place(last.at, zone), last.likely),
        xytext=(7, 0),
        textcoords="offset points",
        fontsize=11,
        fontweight="bold",
        color=INK,
        va="center",
    )
    axes.text(0.01, (low + high) / 2, chart.fine, transform=axes.get_yaxis_transform(), fontsize=9, color="#005c43")
    axes.set_title(panel.name, fontsize=12, loc="left", color=INK)
    axes.yaxis.set_major_locator(MaxNLocator(5))
    axes.yaxis.set_major_formatter(
        FuncFormatter(lambda value, _: format_decimal(round(value, 2), locale=chart.language))
    )
    axes.tick_params(labelsize=10)
    axes.spines[["top", "right"]].set_visible(False)


def _mark(axes: Axes, mark: Mark, zone: ZoneInfo) -> None:
    where = _place(mark.at, zone)
    bottom, top = axes.get_ylim()
    low = bottom if mark.low is None else mark.low
    high = top if mark.high is None else mark.high
    axes.plot([where, where], [low, high], color=READING, linewidth=3.2, alpha=0.55, solid_capstyle="butt")
    axes.plot([where], [mark.likely], marker="o", markersize=6, color=READING, markeredgecolor="white")
    if mark.high is None:
        axes.plot([where], [high], marker="^", markersize=7, color=READING, clip_on=False)
    if mark.low is None:
        axes.plot([where], [low], marker="v", markersize=7, color=READING, clip_on=False)


def _rows(axes: Axes, rows: tuple[Row, ...], zone: ZoneInfo) -> None:
    for place, (row, marker) in enumerate(zip(rows, cycle(MARKERS), strict=False)):
        where = [_place(at, zone) for at in row.at]
        height = len(rows) - 1 - place
        axes.plot(where, [height] * len(where), linestyle="", marker=marker, markersize=7, color=ADDED)
        axes.text(
            0.0, height + 0.28, row.name, transform=axes.get_yaxis_transform(), fontsize=9, color=INK, va="bottom"
        )
    axes.set_ylim(-0.5, len(rows) - 0.1)
    axes.set_yticks([])
    axes.spines[["top", "right", "left"]].set_visible(False)


def _place(moment: datetime, zone: ZoneInfo) -> float:
    """Where a moment lies: by the clock on the wall, so that days are equally long."""
    wall = moment.astimezone(zone).replace(tzinfo=None)
    return (wall - EPOCH) / timedelta(days=1)


def _days(axes: Axes, chart: Chart) -> None:
    """Days as people write them, few enough to be read."""
    zone = ZoneInfo(chart.zone)
    first, last = _place(chart.since, zone), _place(chart.until, zone)
    axes.set_xlim(first - 0.3, last + max(0.6, (last - first) * 0.08))
    step = max(1, round((last - first) / MOST_TICKS))
    ticks = [float(day) for day in range(int(first) + 1, int(last) + 1, step)] or [first]
    axes.xaxis.set_major_locator(FixedLocator(ticks))
    axes.xaxis.set_major_formatter(FuncFormatter(lambda value, _: _day(value, chart.language)))
    axes.tick_params(axis="x", labelsize=10)


def _day(value: float, language: str) -> str:
    return str(format_skeleton("MMMd", EPOCH + timedelta(days=value), locale=language))


def _number(value: float, language: str) -> str:
    return str(format_decimal(value, locale=language))

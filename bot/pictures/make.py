"""Enclosures made: a value in, a PNG or a file out."""

import dosing
from bot.model.enclosure import (
    CalendarDrawing,
    CalendarFile,
    Chart,
    Enclosure,
    FiguresDrawing,
    Made,
    PlanDrawing,
    Sheet,
)
from bot.pictures.calendar import calendar_picture
from bot.pictures.chart import chart_picture
from bot.pictures.figures import figures_picture
from bot.pictures.icalendar_file import calendar_file
from bot.pictures.plane import PlaneWords, plan_picture


def make(enclosure: Enclosure) -> Made:
    """The bytes of an enclosure. ValueError where it cannot be drawn."""
    match enclosure:
        case PlanDrawing() as drawing:
            return Made(form="picture", name="plan.png", content=_plan(drawing))
        case Chart() as chart:
            return Made(form="picture", name="chart.png", content=chart_picture(chart))
        case CalendarDrawing() as calendar:
            return Made(form="picture", name="calendar.png", content=calendar_picture(calendar))
        case CalendarFile() as file:
            return Made(form="document", name=file.name, content=calendar_file(file))
        case FiguresDrawing() as figures:
            return Made(form="picture", name="figures.png", content=figures_picture(figures))
        case Sheet(name=name, content=content):
            return Made(form="document", name=name, content=content.encode("utf-8-sig"))


def _plan(drawing: PlanDrawing) -> bytes:
    words = PlaneWords(
        drawing.title,
        drawing.alkalinity,
        drawing.carbon,
        drawing.now,
        drawing.target,
        drawing.expected,
        drawing.steps,
    )
    return plan_picture(drawing.plan, drawing.volume, dosing.limits_for(drawing.locale), words)

"""A plan on the plane of alkalinity and total inorganic carbon.

Both are conserved when waters and products mix, so each product is a straight arrow of one direction, and lines of
equal pH are almost straight too. A technician sees at a glance why a plan goes the way it goes.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.patches import Polygon
from numpy.typing import NDArray

import dosing
from bot.pictures.phone import png, sheet
from dosing import Plan, Spread, Step, Water
from dosing.arrows import effect

PH_LINES = (6.6, 6.8, 7.0, 7.2, 7.4, 7.8, 8.4)
ARROWS = ("#0072B2", "#D55E00", "#009E73", "#CC79A7", "#56B4E9", "#E69F00")
"""Okabe & Ito 2008, Color Universal Design: told apart by colour-blind readers, who also have the numbers."""

Points = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class PlaneWords:
    """What is written on the picture, in the reader's language. `steps` says what each step does, by its key."""

    title: str
    alkalinity: str
    carbon: str
    now: str
    target: str
    expected: str
    steps: Mapping[str, str] = field(default_factory=dict)


def plan_picture(plan: Plan, volume: float | None, limits: dosing.Limits, words: PlaneWords) -> bytes:
    """The plan as a PNG for a phone: pH lines, the zone that is fine, where the water may be now, an arrow for each
    addition and for air, and where the water may be afterwards.

    `volume` in litres, None where it is not known and nothing is added. Raises ValueError for a plan without a known
    pH and alkalinity: it has no place on the plane. Alkalinity may be assumed, which makes the region tall; pH may not.
    """
    if not {"ph", "ta"} <= plan.water.keys() or any(it.key == "ph" for it in plan.assumed):
        raise ValueError("a plan can be drawn only where pH and alkalinity are known")
    return png(_drawn(plan, volume, limits, words))


def _drawn(plan: Plan, volume: float | None, limits: dosing.Limits, words: PlaneWords) -> Figure:
    figure = sheet(5.6 + 0.22 * (len(plan.steps) + 3))
    axes = figure.add_subplot()
    background = _likely(plan.water)
    path = _path(plan, background, volume)
    alkalinities = [plan.water["ta"].low, plan.water["ta"].high, *limits.alkalinity_fine, *path[:, 1]]
    top = max(alkalinities) * 1.1
    fine = _outline(background, limits.ph_fine, limits.alkalinity_fine)
    axes.add_patch(Polygon(fine, facecolor="#009E73", alpha=0.22, label=words.target))
    now = _region(background, plan.water)
    axes.add_patch(Polygon(now, facecolor="none", edgecolor="black", linewidth=1.6, label=words.now))
    _arrows(axes, _movers(plan, volume), path, words)
    if plan.steps and {"ph", "ta"} <= plan.predicted.keys():
        after = _region(_likely(plan.predicted), plan.predicted)
        axes.add_patch(
            Polygon(after, facecolor="none", edgecolor="black", linestyle=":", linewidth=1.6, label=words.expected)
        )
        now = np.concatenate([now, after])
    seen = np.concatenate([now, fine, path])
    axes.set_xlim(max(0.0, seen[:, 0].min() - 0.15), seen[:, 0].max() + 0.45)
    axes.set_ylim(max(0.0, seen[:, 1].min() - 30.0), top)
    _ph_lines(axes, background, top)
    axes.set(xlabel=words.carbon, ylabel=words.alkalinity)
    axes.set_title(words.title, pad=38, fontsize=11)
    figure.legend(loc="outside lower left", fontsize=10, frameon=False)
    return figure


def _likely(spreads: Mapping[str, Spread]) -> Water:
    def of(key: str, otherwise: float = 0.0) -> float:
        return spreads[key].mid if key in spreads else otherwise

    return Water(
        of("ph", 7.4),
        of("ta"),
        calcium_hardness=of("ch", 150.0),
        cyanuric_acid=of("cya"),
        free_chlorine=of("fc"),
        bromine=of("br"),
    )


def _place(water: Water, ph: NDArray[np.float64] | float, alkalinity: NDArray[np.float64] | float) -> Points:
    """Points (DIC in mmol/L, alkalinity in mg/L) of waters like `water` at these pH and alkalinities."""
    acidity, level = np.broadcast_arrays(np.asarray(ph, float), np.asarray(alkalinity, float))
    like = Water(
        acidity,
        level,
        calcium_hardness=water.calcium_hardness,
        cyanuric_acid=water.cyanuric_acid,
        temperature=water.temperature,
        free_chlorine=water.free_chlorine,
        bromine=water.bromine,
    )
    return np.column_stack([np.asarray(dosing.speciate(like).dic), level])


def _outline(water: Water, ph: tuple[float, float], alkalinity: tuple[float, float]) -> Points:
    up = np.linspace(*alkalinity, 24)
    return np.concatenate([_place(water, ph[0], up), _place(water, ph[1], up[::-1])])


def _region(water: Water, spreads: Mapping[str, Spread]) -> Points:
    ph, ta = spreads["ph"], spreads["ta"]
    return _outline(water, (ph.low, ph.high), (ta.low, ta.high))


def _ph_lines(axes: Axes, water: Water, top: float) -> None:
    """Lines of equal pH, each named where it leaves the picture: along itself at the top, upright at the right."""
    alkalinities, right = np.linspace(5.0, top, 60), axes.get_xlim()[1]
    for ph in PH_LINES:
        points = _place(water, ph, alkalinities)
        axes.plot(points[:, 0], points[:, 1], color="0.72", linewidth=0.8, zorder=0)
        at_top = points[-1, 0] < right
        axes.annotate(
            f"pH {ph:.1f}" if ph == max(PH_LINES) else f"{ph:.1f}",
            (points[-1, 0], top) if at_top else (right, np.interp(right, points[:, 0], points[:, 1])),
            xytext=(2, 3) if at_top else (4, 0),
            textcoords="offset points",
            fontsize=8,
            color="0.35",
            rotation=60 if at_top else 0,
            rotation_mode="anchor",
            ha="left",
            va="center",
            annotation_clip=False,
        )


def _path(plan: Plan, water: Water, volume: float | None) -> Points:
    """Where the most likely water is before the first step that moves it and after each.

    Doses add up on this plane. Air takes carbon alone: as much as the water that is expected in the end lacks.
    """
    moves = {step.key: _dosed(step, volume) for step in _movers(plan, volume)}
    start = _place(water, water.ph, water.alkalinity)[0]
    for step in plan.steps:
        if step.action == "aerate":
            after = _likely(plan.predicted)
            end = _place(after, after.ph, after.alkalinity)[0]
            moves[step.key][0] = min(0.0, (end - start - sum(moves.values()))[0])
    return np.cumsum([start, *moves.values()], axis=0)


def _movers(plan: Plan, volume: float | None) -> list[Step]:
    """The steps that have an arrow."""
    return [step for step in plan.steps if step.action == "aerate" or (step.action == "add" and volume is not None)]


def _dosed(step: Step, volume: float | None) -> Points:
    if volume is None:
        return np.zeros(2)
    done = effect(step.substances).per(volume)
    return np.array([done.dic, done.alkalinity])


def _arrows(axes: Axes, steps: Sequence[Step], path: Points, words: PlaneWords) -> None:
    for number, (step, start, end) in enumerate(zip(steps, path, path[1:], strict=False), 1):
        colour = ARROWS[(number - 1) % len(ARROWS)]
        arrow = {"arrowstyle": "-|>", "color": colour, "linewidth": 2.2, "shrinkA": 0, "shrinkB": 0}
        axes.annotate("", xy=end, xytext=start, arrowprops=arrow)
        label = f"{number}. {words.steps.get(step.key, step.product or step.key)}"
        axes.plot([], [], color=colour, linewidth=2.2, label=label)
    axes.plot(*path[0], marker="o", color="black", markersize=5)

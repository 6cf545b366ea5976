"""Shares of a whole as bars, each with its numbers, for a phone held upright."""

from matplotlib.axes import Axes

from bot.model.enclosure import FiguresDrawing, Share
from bot.pictures.phone import BAND, INK, png, sheet


def figures_picture(drawing: FiguresDrawing) -> bytes:
    """The figures as a PNG. ValueError where there is nothing to draw."""
    if not drawing.shares:
        raise ValueError("figures need at least one share")
    figure = sheet(0.9 + 0.85 * len(drawing.shares) + 0.32 * len(drawing.notes))
    figure.suptitle(drawing.title, fontsize=13, fontweight="bold", color=INK)
    axes = figure.add_subplot()
    axes.set_xlim(0, 1)
    axes.set_ylim(-len(drawing.shares) - 0.32 * len(drawing.notes) - 0.1, 0.1)
    axes.axis("off")
    for place, share in enumerate(drawing.shares):
        _bar(axes, share, -place)
    for place, note in enumerate(drawing.notes):
        axes.text(0, -len(drawing.shares) - 0.35 * place - 0.2, note, fontsize=10, color=INK, va="center")
    return png(figure)


def _bar(axes: Axes, share: Share, top: float) -> None:
    """Its name, a frame as wide as the whole, and the part hatched in it."""
    axes.text(0, top - 0.15, share.name, fontsize=11, color=INK, va="center")
    said = f"{share.part} / {share.whole}" + (f"   {share.part / share.whole:.0%}" if share.whole else "")
    axes.text(1, top - 0.15, said, fontsize=11, color=INK, va="center", ha="right")
    axes.barh(top - 0.52, 1, height=0.3, facecolor="none", edgecolor=INK, linewidth=0.8)
    if share.whole:
        axes.barh(
            top - 0.52, share.part / share.whole, height=0.3, facecolor=BAND, alpha=0.5, edgecolor=BAND, hatch="//"
        )

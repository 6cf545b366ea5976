"""What every picture has in common: a phone's size, letters that can be read there, PNG."""

from io import BytesIO

from matplotlib.figure import Figure

PIXELS_PER_INCH = 160
WIDTH = 5.4
"""Inches: 864 pixels across, as wide as a phone shows without scaling down."""
INK = "#1a1a1a"
BAND = "#009E73"
READING = "#0072B2"
ADDED = "#D55E00"
"""Okabe & Ito 2008, Color Universal Design: told apart by colour-blind readers, who have shapes and words besides."""


def sheet(height: float) -> Figure:
    """An empty sheet of that height in inches."""
    return Figure(figsize=(WIDTH, height), dpi=PIXELS_PER_INCH, layout="constrained")


def png(figure: Figure) -> bytes:
    """The sheet as PNG."""
    picture = BytesIO()
    figure.savefig(picture, format="png")
    return picture.getvalue()

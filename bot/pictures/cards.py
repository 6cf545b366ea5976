"""Invite cards to print and cut out: a QR code with a few words, eight on a page that fits A4 and US Letter alike."""

import io
import textwrap
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import Any, NamedTuple

import segno
from matplotlib.axes import Axes
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import PathPatch, Rectangle
from matplotlib.path import Path

MM = 1 / 25.4
PAGE = (210.0, 279.4)
"""Millimetres: the width of A4 by the height of Letter, so that either prints it whole at its true size (ISO 216,
ANSI/ASME Y14.1)."""
COLUMNS, ROWS = 2, 4
CARD = (88.0, 62.0)
LEFT, TOP = (PAGE[0] - COLUMNS * CARD[0]) / 2, (PAGE[1] - ROWS * CARD[1]) / 2
QR = 40.0
QUIET = 4
"""Modules of white around a code (ISO/IEC 18004)."""
EDGE = 5.0
WIDTH = CARD[0] - QR - 2 * EDGE - 2.0
"""Millimetres for words."""


class Card(NamedTuple):
    """One card, in its reader's own language."""

    dealer: str
    name: str
    detail: str
    """Model and serial number, so that it lands in the right folder."""
    how: str
    until: str
    link: str


def cards_pdf(cards: Sequence[Card]) -> bytes:
    """The cards as a PDF of as many pages as they need. ValueError without any."""
    if not cards:
        raise ValueError("there are no cards to print")
    out = io.BytesIO()
    with PdfPages(out, metadata={"Title": cards[0].dealer, "Creator": None, "Producer": None}) as pages:
        for part in _pages(cards):
            pages.savefig(_page(part))
    return out.getvalue()


def _pages(cards: Iterable[Card]) -> Iterator[tuple[Card, ...]]:
    left = iter(cards)
    while part := tuple(islice(left, COLUMNS * ROWS)):
        yield part


def _page(cards: Sequence[Card]) -> Figure:
    figure = Figure(figsize=(PAGE[0] * MM, PAGE[1] * MM))
    axes = figure.add_axes((0.0, 0.0, 1.0, 1.0))
    axes.set_xlim(0, PAGE[0])
    axes.set_ylim(PAGE[1], 0)
    axes.set_axis_off()
    for place, card in enumerate(cards):
        _draw(axes, card, LEFT + place % COLUMNS * CARD[0], TOP + place // COLUMNS * CARD[1])
    return figure


def _draw(axes: Axes, card: Card, x: float, y: float) -> None:
    axes.add_artist(Rectangle((x, y), *CARD, fill=False, linewidth=0.3, edgecolor="0.6", linestyle=(0, (4, 4))))
    left = x + EDGE
    _words(axes, left, y + 6.0, card.dealer, 9.5, lines=2, bold=True)
    _words(axes, left, y + 17.0, card.name, 10.5, lines=2)
    _words(axes, left, y + 27.5, card.detail, 6.5, lines=1)
    _words(axes, left, y + 32.5, card.how, 7.5, lines=5)
    axes.add_artist(_code(card.link, x + CARD[0] - EDGE - QR + 3.0, y + 6.0))
    _words(axes, left, y + CARD[1] - 9.5, card.link, 5.8, lines=1, width=CARD[0] - 2 * EDGE)
    _words(axes, left, y + CARD[1] - 6.0, card.until, 6.0, lines=1, width=CARD[0] - 2 * EDGE)


def _words(
    axes: Axes, x: float, y: float, text: str, size: float, *, lines: int, bold: bool = False, width: float = WIDTH
) -> None:
    """Words within a width, cut with an ellipsis where they are too many. Their top is at `y`."""
    letters = int(width / (size * 0.3528 * (0.56 if bold else 0.52)))
    rows = textwrap.wrap(text, letters, max_lines=lines, placeholder="…") or [""]
    weight = "bold" if bold else "normal"
    axes.text(x, y, "\n".join(rows), fontsize=size, weight=weight, va="top", linespacing=1.25, parse_math=False)


def _code(link: str, x: float, y: float) -> PathPatch:
    """A code as one shape, so that it prints sharp at any size."""
    matrix = [[int(dark) for dark in row] for row in segno.make_qr(link, error="m").matrix_iter(border=0)]
    module = QR / (len(matrix) + 2 * QUIET)
    corners: list[tuple[float, float]] = []
    codes: list[Any] = []
    for row, modules in enumerate(matrix):
        for start, end in _runs(modules):
            left, right = x + (QUIET + start) * module, x + (QUIET + end) * module
            top, bottom = y + (QUIET + row) * module, y + (QUIET + row + 1) * module
            corners += [(left, top), (right, top), (right, bottom), (left, bottom), (left, top)]
            codes += [Path.MOVETO, Path.LINETO, Path.LINETO, Path.LINETO, Path.CLOSEPOLY]
    return PathPatch(Path(corners, codes), facecolor="black", linewidth=0, antialiased=False)


def _runs(modules: Sequence[int]) -> Iterator[tuple[int, int]]:
    """From where to where a row is dark."""
    start = None
    for place, dark in enumerate([*modules, 0]):
        if dark and start is None:
            start = place
        elif not dark and start is not None:
            yield start, place
            start = None

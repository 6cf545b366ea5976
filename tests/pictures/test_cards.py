"""Invite cards: one page holds eight, the code says the link, and the page fits A4 and Letter."""

import re

import pytest
import segno

from bot.pictures.cards import CARD, COLUMNS, PAGE, QR, QUIET, ROWS, Card, _code, cards_pdf

LINK = "https://t.me/tidewell_bot?start=" + "aB3_-xYz" * 4
CARD_OF_BO = Card("Tidewell Tubs", "Bo Berg", "Model A5", "Scan this.", "until 30 March", LINK)


@pytest.mark.parametrize(("count", "pages"), [(1, 1), (8, 1), (9, 2), (17, 3)])
def test_eight_cards_stand_on_a_page(count: int, pages: int):
    assert re.findall(rb"/Count (\d+)", cards_pdf([CARD_OF_BO] * count)) == [str(pages).encode()]


def test_the_page_is_as_wide_as_a4_and_as_high_as_letter_and_keeps_margins_on_both():
    box = re.search(rb"/MediaBox \[ ?0 0 ([\d.]+) ([\d.]+) ?\]", cards_pdf([CARD_OF_BO]))
    assert box
    width, height = (float(side) / 72 * 25.4 for side in box.groups())
    assert (round(width), round(height, 1)) == (210, 279.4)
    assert COLUMNS * CARD[0] <= PAGE[0] - 24
    assert ROWS * CARD[1] <= PAGE[1] - 24


def test_the_dark_modules_drawn_are_those_of_the_code():
    matrix = [list(row) for row in segno.make_qr(LINK, error="m").matrix_iter(border=0)]
    module = QR / (len(matrix) + 2 * QUIET)
    path = _code(LINK, 100.0, 50.0).get_path()
    corners = [tuple(corner) for corner in path.vertices]
    runs = [(corners[at], corners[at + 2]) for at in range(0, len(corners), 5)]

    def is_dark(row: int, column: int) -> bool:
        x, y = 100.0 + (QUIET + column + 0.5) * module, 50.0 + (QUIET + row + 0.5) * module
        return any(left <= x <= right and top <= y <= bottom for (left, top), (right, bottom) in runs)

    places = range(len(matrix))
    drawn = [[is_dark(row, column) for column in places] for row in places]
    assert drawn == [[bool(dark) for dark in row] for row in matrix]


def test_no_link_can_be_longer_than_what_is_scanned_from_the_card():
    module_mm = QR / (len(list(segno.make_qr(LINK, error="m").matrix_iter(border=0))) + 2 * QUIET)
    assert module_mm >= 0.8


def test_names_of_any_length_and_script_are_printed():
    names = ["", "X" * 300, "Ünal Żółć Ωmega Иванова", "$x_1$ %& \\n"]
    assert cards_pdf([CARD_OF_BO._replace(name=name, dealer=name) for name in names]).startswith(b"%PDF")


def test_no_cards_are_no_file():
    with pytest.raises(ValueError, match="no cards"):
        cards_pdf([])

"""CSV that leaves the house is harmless in a spreadsheet, and what it says can be read back."""

import csv
import io

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.desk.intake.opening import open_table
from bot.desk.intake.texts import read_phone
from bot.desk.leaving import csv_of, harmless

EVIL = [
    "=1+1",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "\t=1",
    "\r=1",
    "  =1",
    "\u00a0=1",
    "＝1+1",
    '=HYPERLINK("http://x.example")',
]


@pytest.mark.parametrize("text", EVIL)
def test_what_a_spreadsheet_would_calculate_is_text(text: str):
    assert harmless(text).startswith("'")


@pytest.mark.parametrize("phone", ["+491713920012", "+13125550123", "+33639980012"])
def test_a_phone_number_can_still_be_dialled_and_is_read_back_as_it_was(phone: str):
    shown = harmless(phone)
    assert shown.startswith("+")
    assert " " in shown or "-" in shown
    assert read_phone(shown, "").value == phone


@given(st.lists(st.lists(st.one_of(st.text(max_size=12), st.sampled_from(EVIL)), min_size=2, max_size=3), max_size=5))
def test_no_cell_of_a_file_begins_with_a_formula(rows: list[list[str]]):
    content = csv_of(("name", "note"), rows).decode("utf-8-sig", "surrogatepass")
    for cells in csv.reader(io.StringIO(content, newline="")):
        assert not any(cell.lstrip()[:1] in tuple("=+-@") for cell in cells if cell.lstrip())


def test_numbers_stay_numbers_and_our_own_files_are_read_back():
    table = open_table(csv_of(("name", "litres", "note"), [("Ada Ünal", 1300.0, "=1+1"), ("Bo", None, -2.5)]))
    assert [row.cells for row in table.rows] == [
        ("name", "litres", "note"),
        ("Ada Ünal", "1300", "=1+1"),
        ("Bo", "", "-2.5"),
    ]

"""Files as spreadsheets write them: encodings, separators, quotation marks, workbooks, and what is no table."""

import io
import zipfile
from datetime import date

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from bot.desk.intake.opening import open_table
from bot.desk.intake.table import Formula, Unreadable
from tests.desk.sheets import workbook

GERMAN = "Name;Straße;Telefon\r\nMüller Jörg;Grüner Weg 3;0171 3920012\r\nBošnjak;€-Allee 1;0171 3920013\r\n"
FRENCH = "Nom;Téléphone\r\nDupré Hélène;06 39 98 00 12\r\nÉlodie Façon;06 39 98 00 13\r\n"
POLISH = "Nazwisko;Telefon\r\nŁukasz Żółć;601 234 567\r\nWiśniewska Małgorzata;601 234 568\r\n"
RUSSIAN = "Имя;Телефон\r\nИванова Анна;912 345 67 89\r\nПетров Олег;912 345 67 90\r\n"
GREEK = "Όνομα;Τηλέφωνο\r\nΠαπαδόπουλος Γιώργος;691 234 5678\r\nΑλεξίου Ελένη;691 234 5679\r\n"


def texts(content: bytes, **how: str) -> list[tuple[object, ...]]:
    return [row.cells for row in open_table(content, **how).rows]


def refusal(content: bytes) -> Unreadable:
    with pytest.raises(Unreadable) as refused:
        open_table(content)
    return refused.value


@pytest.mark.parametrize(
    ("encoding", "text", "country"),
    [
        ("utf-8", GERMAN, "DE"),
        ("utf-8-sig", GERMAN, "DE"),
        ("utf-16", GERMAN, "DE"),
        ("utf-16-le", GERMAN, "DE"),
        ("utf-16-be", GERMAN, "DE"),
        ("utf-32", GERMAN, "DE"),
        ("cp1252", GERMAN, "DE"),
        ("cp1252", FRENCH, "FR"),
        ("cp850", GERMAN.replace("š", "s").replace("€", "x"), "DE"),
        ("mac_roman", FRENCH, "FR"),
        ("cp1250", POLISH, "PL"),
        ("cp1251", RUSSIAN, "BG"),
        ("cp1253", GREEK, "GR"),
    ],
)
def test_the_letters_of_every_usual_encoding_are_read_rightly(encoding: str, text: str, country: str):
    expected = [tuple(line.split(";")) for line in text.splitlines()]
    assert texts(text.encode(encoding), country=country) == expected


def test_an_encoding_that_was_guessed_is_not_called_certain():
    assert open_table(GERMAN.encode("cp1252")).certain is False
    assert open_table(GERMAN.encode("utf-8")).certain is True


def test_an_encoding_that_was_named_is_used():
    assert texts("Name\nŁucja\n".encode("cp1250"), encoding="cp1250")[1] == ("Łucja",)


@pytest.mark.parametrize("separator", [",", ";", "\t", "|"])
def test_the_separator_is_found(separator: str):
    rows = [["name", "note", "phone"], ["Ada", "a; b, c | d", "1"], ["Bo", "", "2"]]
    quoted = "\n".join(separator.join(f'"{cell}"' for cell in row) for row in rows)
    assert [list(cells) for cells in texts(quoted.encode())] == rows


def test_the_separator_that_a_spreadsheet_names_is_taken_and_lines_are_still_counted_as_they_stand():
    table = open_table(b"sep=|\nname|phone\nAda|1\n")
    assert [(row.line, row.cells) for row in table.rows] == [(2, ("name", "phone")), (3, ("Ada", "1"))]


def test_a_quoted_line_break_stays_in_its_cell_and_lines_are_those_of_the_file():
    table = open_table(b'name,phone,notes\nA,1,"gate code; ask\nneighbour, no. 4"\nB,2,"5"" step"\n')
    assert [(row.line, row.cells[2]) for row in table.rows[1:]] == [
        (2, "gate code; ask\nneighbour, no. 4"),
        (4, '5" step'),
    ]


@pytest.mark.parametrize(
    "text",
    [
        'name,phone,notes\nA,1,x\nB,2,"open\nC,3,y\n',
        'name,phone,notes\nA,1,x\nB,2,"open\nC,3,"y"\n',
        'name,phone,notes\nA,1,x\nB,2,"open\nC,3,y\nD,4,z"\n',
    ],
)
def test_a_quotation_mark_that_swallows_other_rows_is_reported_with_the_line_it_opens_on(text: str):
    refused = refusal(text.encode())
    assert (refused.code, refused.values) == ("open_quote", {"line": 3})


@pytest.mark.parametrize(
    ("content", "code"),
    [
        (b"", "empty"),
        (b" \n\n", "empty"),
        (b",,\n,,\n", "empty"),
        (b"%PDF-1.7 ...", "not_a_table"),
        (b"\x89PNG\r\n", "not_a_table"),
        (b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600, "old_workbook"),
        (b"PK\x03\x04 and then nothing", "broken_workbook"),
        (b"name,\xff\0\xfe\0\x01 ,,\0", "not_a_table"),
    ],
)
def test_what_is_no_table_is_refused_by_its_kind(content: bytes, code: str):
    assert refusal(content).code == code


@settings(deadline=None)
@given(st.binary(max_size=300))
def test_any_bytes_are_a_table_or_refused_with_a_reason(content: bytes):
    try:
        table = open_table(content)
    except Unreadable:
        return
    assert not all(row.is_empty for row in table.rows)


def test_a_workbook_gives_text_numbers_and_days():
    content = workbook(["name", "litres", "day"], ["Ada", 1300, date(2024, 3, 15)], ["Bo", 950.5, None])
    table = open_table(content)
    assert [row.cells for row in table.rows[1:]] == [("Ada", 1300.0, date(2024, 3, 15)), ("Bo", 950.5)]
    assert table.sheet == "Owners"


def test_the_first_sheet_that_holds_anything_is_read_unless_one_is_named():
    book = Workbook()
    book.active.title = "Cover"
    for title in ("First", "Second"):
        book.create_sheet(title).append([title])
    out = io.BytesIO()
    book.save(out)
    assert open_table(out.getvalue()).sheet == "First"
    assert open_table(out.getvalue(), sheet="Second").rows[0].cells == ("Second",)
    with pytest.raises(Unreadable) as refused:
        open_table(out.getvalue(), sheet="Third")
    assert refused.value.values["sheets"] == "Cover, First, Second"


def test_a_formula_that_was_never_calculated_is_known_as_one():
    table = open_table(workbook(["name", "litres"], ["Ada", "=1000+300"]))
    assert table.rows[1].cells == ("Ada", Formula())


def _archive(**parts: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name.replace("__", "/"), content)
    return out.getvalue()


def test_a_workbook_that_unpacks_to_hundreds_of_times_its_size_is_refused_before_it_is_unpacked():
    bomb = _archive(**{"[Content_Types].xml": b"<x/>", "xl__sharedStrings.xml": b" " * 30_000_000})
    assert len(bomb) < 100_000
    assert refusal(bomb).code == "too_large_inside"


def test_an_archive_that_is_no_workbook_is_told_apart():
    assert refusal(_archive(**{"content.xml": b"<x/>"})).code == "other_archive"


def test_entities_in_a_workbook_are_not_expanded():
    evil = (
        b'<?xml version="1.0"?><!DOCTYPE w [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;&a;">]>'
        b'<worksheet xmlns="http://schemas.openxmlformats.org/spreadsheetml/2006/main"><sheetData><row r="1">'
        b'<c r="A1" t="inlineStr"><is><t>&b;</t></is></c></row></sheetData></worksheet>'
    )
    honest = zipfile.ZipFile(io.BytesIO(workbook(["name"])))
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        for part in honest.namelist():
            archive.writestr(part, evil if part == "xl/worksheets/sheet1.xml" else honest.read(part))
    assert refusal(out.getvalue()).code == "broken_workbook"

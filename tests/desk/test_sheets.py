"""What rows of a sheet mean: columns, names, numbers, days, models, and what is remarked upon."""

from datetime import date, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.desk.intake.amounts import LARGEST, SMALLEST, numbers
from bot.desk.intake.columns import meaning_of
from bot.desk.intake.days import read_day
from bot.desk.intake.opening import open_table
from bot.desk.intake.sheet import Choices, read_sheet
from bot.desk.intake.table import ZERO, Unreadable
from bot.desk.intake.texts import read_phone
from tests.desk.sheets import TODAY, codes, owner_of, sheet_of, workbook


@pytest.mark.parametrize(
    ("titles", "field"),
    [
        ("Name;Kundenname;Nom du client;Nombre completo;Customer", "name"),
        ("Telefon;Handy-Nr.;Tél.;Téléphone portable;Móvil;Mobile phone;Phone #", "phone"),
        ("E-Mail;Adresse e-mail;Correo electrónico;Email address", "email"),
        ("Seriennr.;N° de série;Número de serie;Serial No.;S/N", "serial"),
        ("Volumen (l);Wasserinhalt;Contenance;Capacidad;US gallons;Volume [gal];Litres", "volume"),
        ("Lieferdatum;Geliefert am;Date de livraison;Fecha de entrega;Delivery date", "delivered"),
        ("Kaufdatum;Date d'achat;Fecha de compra;Purchase date", "bought"),
        ("Modell;Modèle;Modelo;Tub model", "model"),
        ("Kunden-Nr.;Numéro client;Customer ID", "number"),
        ("Sprache;Langue;Idioma;Language", "language"),
        ("Einwilligung;Opt-in;Consent;x1;Rabatt;IBAN;Straße", None),
    ],
)
def test_a_column_is_known_by_its_title_in_four_languages(titles: str, field: str | None):
    assert {title: meaning_of(title) for title in titles.split(";")} == dict.fromkeys(titles.split(";"), field)


def test_titles_are_found_below_a_headline_and_unknown_columns_are_left_out():
    sheet = sheet_of(
        "Customer list 2026;;;;\n;;;;\nTél;Nom;Litres;Sanitizer;x1\n"
        "06 39 98 00 12;Dupont Exemple;1 100;brome;J\nEssai Marie;06 39 98 00 13;1 250;chlore;N\n",
        country="FR",
    )
    assert sheet.head.line == 3
    assert [column.means for column in sheet.head.columns] == ["phone", "name", "volume", "sanitizer", None]
    first, second = sheet.owners
    assert (first.name, first.phones, first.volume, first.sanitizer) == (
        "Dupont Exemple",
        ("+33639980012",),
        1100.0,
        "bromine",
    )
    assert (second.name, second.phones) == ("Essai Marie", ("+33639980013",))
    assert codes(second) == ["swapped"]


def test_a_sheet_without_titles_is_read_by_what_its_columns_hold():
    sheet = sheet_of("Anna Muster;0171 3920012;anna@example.com\nJan Probe;0171 3920013;jan@example.com\n")
    assert sheet.head.line == 0
    assert [(row.line, row.name, row.email) for row in sheet.owners] == [
        (1, "Anna Muster", "anna@example.com"),
        (2, "Jan Probe", "jan@example.com"),
    ]


def test_what_the_dealer_says_of_a_column_comes_first():
    text = "name,x1,delivered\nAnna Muster,bring the long ramp,2024-03-15\n"
    [row] = sheet_of(text, columns={"x1": "note", "delivered": ""}).owners
    assert (row.note, row.delivered) == ("bring the long ramp", None)


def test_a_table_in_which_nobody_can_be_found_is_refused_with_its_titles():
    with pytest.raises(Unreadable) as refused:
        sheet_of("colour,price\nred,3\n")
    assert refused.value.code == "no_columns"
    assert "colour" in str(refused.value.values["columns"])


def test_first_and_last_names_are_put_together():
    assert owner_of("Vorname;Nachname;Telefon\nAnna;Muster;0171 3920012\n").name == "Anna Muster"
    assert owner_of("Nom;Prénom;Tél\nDupont;Marie;+33639980012\n").name == "Marie Dupont"


def test_rows_that_are_nobody_are_skipped_or_rejected_and_all_lines_add_up():
    sheet = sheet_of(
        "name,phone,volume\n,+491713920012,1300\nn/a,+491713920013,1200\n???,,1100\nname,phone,volume\n"
        "Mrs,+491713920014,\n,,\nTotal,,3 tubs\n"
    )
    assert [(row.line, row.name, codes(row)) for row in sheet.owners] == [
        (2, "", ["name_missing"]),
        (3, "", ["name_missing"]),
        (6, "", ["name_missing"]),
    ]
    assert [(remark.line, remark.code) for remark in sheet.rejected] == [(4, "nobody")]
    assert [(remark.line, remark.code) for remark in sheet.skipped] == [
        (5, "titles_again"),
        (7, "empty_row"),
        (8, "total_row"),
    ]


@pytest.mark.parametrize(
    ("cell", "litres", "code"),
    [
        ("1.350", 1350.0, ""),
        ("1200,5", 1200.5, ""),
        ("1 100", 1100.0, ""),
        ("1\u00a0100", 1100.0, ""),
        ("1'350", 1350.0, ""),
        ("1,500", 1500.0, ""),
        ("1.350,5 l", 1350.5, ""),
        ("1,350.5 L", 1350.5, ""),
        ("1.4 m3", 1400.0, ""),
        ("1,35 m³", 1350.0, ""),
        ("425 gal", 1608.8, "volume_us_gallons"),
        ("425 US gal", 1608.8, ""),
        ("330 imp gal", 1500.2, ""),
        ("1200-1300", None, "volume_range"),
        ("5 persons", None, "volume_people"),
        ("4 Personen", None, "volume_people"),
        ("15000", None, "volume_out_of_range"),
        ("40 L", None, "volume_out_of_range"),
        ("big", None, "volume_unreadable"),
        ("1300 bar", None, "volume_unreadable"),
        ("", None, ""),
    ],
)
def test_a_volume_is_litres_or_a_remark(cell: str, litres: float | None, code: str):
    row = owner_of(f'name,vol,x\nAnna Muster,"{cell}",\nBo Probe,1514,\n'.replace("Bo Probe,1514,\n", ""))
    assert row.volume == litres
    assert codes(row) == ([code] if code else [])


def test_bare_numbers_that_may_be_gallons_or_litres_are_asked_about_and_not_taken_over():
    text = "name,vol\nA,400\nB,1514\nC,600\n"
    sheet = sheet_of(text)
    assert [(row.volume, codes(row)) for row in sheet.owners] == [
        (None, ["volume_unit"]),
        (1514.0, []),
        (None, ["volume_unit"]),
    ]
    assert [(question.about, question.examples) for question in sheet.questions] == [("unit", ("400", "600"))]
    assert sheet.owners[0].remarks[0].values == {"said": "400", "litres": 0.0, "us": 1514, "imperial": 1818}


@pytest.mark.parametrize(
    ("unit", "volumes"),
    [
        ("usgal", [1514.2, 1514.0, 2271.2]),
        ("impgal", [1818.4, 1514.0, 2727.7]),
        ("litres", [400.0, 1514.0, 600.0]),
    ],
)
def test_the_answer_holds_for_the_numbers_that_were_in_doubt(unit: str, volumes: list[float]):
    sheet = sheet_of("name,vol\nA,400\nB,1514\nC,600\n", unit=unit)
    assert [row.volume for row in sheet.owners] == volumes
    assert sheet.questions == ()


def test_a_column_of_gallons_in_the_united_states_is_asked_about_and_one_of_litres_elsewhere_is_not():
    assert [q.about for q in sheet_of("name,vol\nA,650\nB,700\n", country="US").questions] == ["unit"]
    assert [row.volume for row in sheet_of("name,vol\nA,650\nB,700\n", country="DE").owners] == [650.0, 700.0]


def test_a_unit_in_the_title_is_the_unit_of_the_column():
    assert owner_of("name,Volume (US gal)\nA,400\n").volume == 1514.2
    assert owner_of("name,Litres\nA,400\n").volume == 400.0
    assert owner_of("name,Gallons\nA,400\n", country="US").volume == 1514.2


@settings(deadline=None, max_examples=60)
@given(st.floats(SMALLEST, LARGEST).map(lambda litres: round(litres, 1)))
def test_every_way_to_write_litres_means_the_same(litres: float):
    plain = f"{litres:.1f}"
    ways = [plain, plain.replace(".", ","), f"{litres:,.1f}", f"{litres:,.1f}".translate({44: 46, 46: 44})]
    ways.append(f"{litres:,.1f}".replace(",", "\u202f"))
    assert all(litres in numbers(way) for way in ways)
    assert owner_of(f'name,Litres\nA,"{ways[1]}"\n').volume == litres


@pytest.mark.parametrize(
    ("cell", "day"),
    [
        ("15.03.2024", date(2024, 3, 15)),
        ("15/3/24", date(2024, 3, 15)),
        ("2024-03-15", date(2024, 3, 15)),
        ("2024/03/15 00:00:00", date(2024, 3, 15)),
        ("20240315", date(2024, 3, 15)),
        ("15 March 2024", date(2024, 3, 15)),
        ("March 15, 2024", date(2024, 3, 15)),
        ("15. März 2024", date(2024, 3, 15)),
        ("Fr., 15. Mär 2024", date(2024, 3, 15)),
        ("15 mars 2024", date(2024, 3, 15)),
        ("15 de marzo de 2024", date(2024, 3, 15)),
        ("1er avril 2024", date(2024, 4, 1)),
        ("15-Mar-24", date(2024, 3, 15)),
        ("45366", date(2024, 3, 15)),
        ("45366.5", date(2024, 3, 15)),
    ],
)
def test_a_day_is_read_in_every_usual_form(cell: str, day: date):
    assert owner_of(f'name,delivered\nA,"{cell}"\n').delivered == day


@pytest.mark.parametrize(
    ("cell", "code"),
    [
        ("31.02.2024", "date_unreadable"),
        ("soon", "date_unreadable"),
        ("12345", "date_unreadable"),
        ("15.03.1904", "date_implausible"),
        ("15.03.2050", "date_implausible"),
    ],
)
def test_what_is_no_delivery_day_is_left_out_and_remarked_upon(cell: str, code: str):
    row = owner_of(f"name,delivered\nA,{cell}\n")
    assert (row.delivered, codes(row)) == (None, [code])


def test_which_comes_first_is_seen_from_the_whole_column():
    days = [row.delivered for row in sheet_of("name,delivered\nA,03/04/2024\nB,25/04/2024\n").owners]
    assert days == [date(2024, 4, 3), date(2024, 4, 25)]
    days = [row.delivered for row in sheet_of("name,delivered\nA,03/04/2024\nB,04/25/2024\n").owners]
    assert days == [date(2024, 3, 4), date(2024, 4, 25)]


@pytest.mark.parametrize("more", ["", "B,25/04/2024\nC,04/25/2024\n"])
def test_a_column_that_does_not_say_or_contradicts_itself_is_asked_about_once(more: str):
    text = f"name,delivered\nA,03/04/2024\n{more}"
    sheet = sheet_of(text)
    assert [(q.about, q.examples) for q in sheet.questions] == [("dates", ("03/04/2024",))]
    assert (sheet.owners[0].delivered, codes(sheet.owners[0])) == (None, ["date_order"])
    assert sheet_of(text, dates="month_first").owners[0].delivered == date(2024, 3, 4)


@settings(deadline=None, max_examples=60)
@given(st.dates(date(1970, 1, 2), TODAY + timedelta(days=500)))
def test_a_day_number_and_its_text_are_the_same_day(day: date):
    number = float((day - ZERO).days)
    assert read_day(number, None, TODAY).day == day
    assert read_day(day.isoformat(), None, TODAY).day == day
    assert read_day(f"{day:%d.%m.%Y}", "day_first", TODAY).day == day
    assert read_day(f"{day:%m/%d/%Y}", "month_first", TODAY).day == day


def test_a_workbook_s_dates_come_as_dates_and_its_long_numbers_as_they_are():
    content = workbook(
        ["name", "phone", "delivered", "serial"], ["Anna Muster", 491713920012, date(2024, 3, 15), 20240001]
    )
    [row] = read_sheet(open_table(content), Choices(country="DE"), TODAY).owners
    assert (row.phones, row.delivered, row.serial) == (("+491713920012",), date(2024, 3, 15), "20240001")


@pytest.mark.parametrize(
    ("cell", "country", "value"),
    [
        ("0171 3920012", "DE", "+491713920012"),
        ("+49 171 3920013", "DE", "+491713920013"),
        ("0049-171-3920014", "DE", "+491713920014"),
        ("(0)171/3920012", "DE", "+491713920012"),
        ("06 39 98 00 12", "FR", "+33639980012"),
        ("(312) 555-0123", "US", "+13125550123"),
        ("1713920012", "DE", "+491713920012"),
        ("tel. 0171 3920012", "DE", "+491713920012"),
    ],
)
def test_a_phone_number_is_kept_in_its_international_form(cell: str, country: str, value: str):
    assert read_phone(cell, country).value == value


@pytest.mark.parametrize(
    ("cell", "country", "code"),
    [
        ("4.91714E+11", "DE", "phone_rounded"),
        ("12", "DE", "phone_unreadable"),
        ("call Anna", "DE", "phone_unreadable"),
        ("0171 3920012", "", "phone_country"),
    ],
)
def test_what_is_no_phone_number_says_why(cell: str, country: str, code: str):
    read = read_phone(cell, country)
    assert (read.value, read.code) == ("", code)


def test_two_numbers_in_one_cell_or_two_columns():
    row = owner_of("name,phone,mobile\nA,0171 3920012 / 0171 3920013,0171 3920014\n")
    assert row.phones == ("+491713920012", "+491713920014")
    assert codes(row) == ["phone_second"]


def test_spellings_that_differ_by_case_and_spaces_are_one_model_and_others_are_asked_about():
    sheet = sheet_of(
        "name,model\nA,Model\u00a0A5\nB,Model A5 \nC,model  a5\nD,Model A5\nE,Mod. A-5\nF,Model A5 / 2021\nG,MODEL A6\n"
    )
    assert [row.model for row in sheet.owners] == [*["Model A5"] * 4, "Mod. A-5", "Model A5", "MODEL A6"]
    assert sheet.owners[5].built == 2021
    assert [(q.about, q.examples, q.meant) for q in sheet.questions] == [("model", ("Mod. A-5",), "Model A5")]


def test_a_spelling_that_was_decided_is_not_asked_about_again():
    text = "name,model\nA,Model A5\nB,Mod. A-5\n"
    same = sheet_of(text, models={"Mod. A-5": "Model A5"})
    assert ([row.model for row in same.owners], same.questions) == (["Model A5"] * 2, ())
    other = sheet_of(text, models={"Mod. A-5": "Mod. A-5"})
    assert ([row.model for row in other.owners], other.questions) == (["Model A5", "Mod. A-5"], ())


def test_cells_that_look_like_formulas_are_plain_text_and_such_a_name_is_for_review():
    sheet = sheet_of(
        'name,phone,notes\n"=HYPERLINK(""http://x.example"",""click"")",+491713920012,\n'
        '@lead,0171 3920013,-2+3\nA Normal,+491713920014,"=1+1"\n'
    )
    assert [codes(row) for row in sheet.owners] == [["name_formula"], ["name_formula"], []]
    assert sheet.owners[0].name == '=HYPERLINK("http://x.example","click")'
    assert [row.note for row in sheet.owners] == ["", "-2+3", "=1+1"]
    assert sheet.owners[0].phones == ("+491713920012",)


@settings(deadline=None, max_examples=60)
@given(st.lists(st.lists(st.text(max_size=20), min_size=1, max_size=6), min_size=1, max_size=8))
def test_any_cells_at_all_are_owners_remarks_or_a_refusal(rows: list[list[str]]):
    import csv
    import io

    out = io.StringIO(newline="")
    csv.writer(out).writerows([["name", "phone", "vol", "delivered", "model", "serial"], *rows])
    content = out.getvalue().encode("utf-8", "replace")
    try:
        sheet = sheet_of(content)
    except Unreadable:
        return
    assert all(row.line > sheet.head.line for row in sheet.owners)
    assert all(row.volume is None or SMALLEST <= row.volume <= LARGEST for row in sheet.owners)

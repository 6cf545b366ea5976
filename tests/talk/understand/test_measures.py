from datetime import date, time

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.talk.understand import Doubt, clock, count, day, duration, readings, temperature, volume

WEDNESDAY = date(2027, 3, 3)


@pytest.mark.parametrize(
    ("text", "litres"),
    [
        ("1300L", 1300),
        ("1,300 litres", 1300),
        ("1.350", 1350),
        ("1 100 L", 1100),
        ("1,2 m3", 1200),
        ("1.2m³", 1200),
        ("330 imp gal", 1500.2),
        ("400 US gallons", 1514.2),
        ("400 gallons (US)", 1514.2),
        ("about 1500", 1500),
        ("mil doscientos litros", 1200),
        ("twelve hundred litres", 1200),
        ("2 x 2 x 0.8 m", 3200),
        ("200 x 200 x 80 cm", 3200),
        ("7 ft x 7 ft x 3 ft", 4162.6),
        ("1.8 m across, 0.7 deep", 1781.3),
        ("zwölfhundert Liter", 1200),
    ],
)
def test_a_volume_is_litres_from_any_unit(text: str, litres: float) -> None:
    assert volume(text) == pytest.approx(litres)


def test_a_plain_gallon_is_asked_back_with_both_meanings() -> None:
    assert volume("400 gal") == Doubt("which_gallon", None, "400 gal", (1514.2, 1818.4))


@pytest.mark.parametrize("text", ["50 m3", "5 persons", "20 L"])
def test_what_no_hot_tub_holds_is_doubted(text: str) -> None:
    doubt = volume(text)
    assert isinstance(doubt, Doubt)
    assert doubt.code == "implausible_volume"


@given(
    st.integers(150, 9999),
    st.sampled_from(["{} L", "{}l", "{} litres", "{} litros", "{} litres d'eau", "{} Liter", "about {} liters"]),
)
def test_litres_are_understood_as_themselves(litres: int, form: str) -> None:
    assert volume(form.format(litres)) == litres


@pytest.mark.parametrize(
    ("text", "celsius"),
    [
        ("38", 38),
        ("38C", 38),
        ("102F", 38.889),
        ("104 degrees", 40),
        ("38,5 Grad", 38.5),
        ("it's 37.5 °C", 37.5),
        ("none", None),
        ("50", None),
    ],
)
def test_a_temperature_is_celsius(text: str, celsius: float | None) -> None:
    assert temperature(text) == celsius


@pytest.mark.parametrize(
    ("text", "minutes"),
    [
        ("20 min", 20),
        ("half an hour", 30),
        ("1h30", 90),
        ("1 h 30 min", 90),
        ("two hours", 120),
        ("45", 45),
        ("an hour and a half", 90),
        ("media hora", 30),
        ("une demi-heure", 30),
        ("eine halbe Stunde", 30),
        ("90s", 1.5),
        ("a couple of hours", 120),
        ("2 days", 2880),
        ("anderthalb Stunden", 90),
        ("soon", None),
        ("99999999 years", None),
    ],
)
def test_a_length_of_time_is_minutes(text: str, minutes: float | None) -> None:
    assert duration(text) == minutes


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("tomorrow", date(2027, 3, 4)),
        ("tommorow", date(2027, 3, 4)),
        ("mañana", date(2027, 3, 4)),
        ("demain", date(2027, 3, 4)),
        ("morgen", date(2027, 3, 4)),
        ("in three days", date(2027, 3, 6)),
        ("dentro de tres días", date(2027, 3, 6)),
        ("dans trois jours", date(2027, 3, 6)),
        ("in drei Tagen", date(2027, 3, 6)),
        ("friday", date(2027, 3, 5)),
        ("wednesday", date(2027, 3, 10)),
        ("viernes", date(2027, 3, 5)),
        ("vendredi", date(2027, 3, 5)),
        ("am Freitag", date(2027, 3, 5)),
        ("3.4.", date(2027, 4, 3)),
        ("3.4.2028", date(2028, 4, 3)),
        ("2027-04-03", date(2027, 4, 3)),
        ("13/4", date(2027, 4, 13)),
        ("4/13", date(2027, 4, 13)),
        ("3 april", date(2027, 4, 3)),
        ("April 3rd", date(2027, 4, 3)),
        ("el 3 de abril", date(2027, 4, 3)),
        ("le 3 avril", date(2027, 4, 3)),
        ("2. März", date(2028, 3, 2)),
        ("two weeks", date(2027, 3, 17)),
        ("next week", date(2027, 3, 10)),
        ("yesterday", date(2027, 3, 2)),
        ("hace dos días", date(2027, 3, 1)),
        ("il y a deux jours", date(2027, 3, 1)),
        ("vor zwei Tagen", date(2027, 3, 1)),
        ("pasado mañana", date(2027, 3, 5)),
        ("übermorgen", date(2027, 3, 5)),
        ("3/4", None),
        ("31.2.", None),
        ("later", None),
        ("in 99999999 days", None),
    ],
)
def test_a_day_is_found_from_today(text: str, expected: date | None) -> None:
    assert day(text, WEDNESDAY) == expected


@given(st.dates(date(2027, 1, 1), date(2035, 12, 31)))
def test_an_iso_date_is_itself(when: date) -> None:
    assert day(when.isoformat(), WEDNESDAY) == when


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("22:00", time(22)),
        ("10 pm", time(22)),
        ("half past nine", time(9, 30)),
        ("halb zehn", time(9, 30)),
        ("22h30", time(22, 30)),
        ("las diez y media", time(10, 30)),
        ("9", time(9)),
        ("noon", time(12)),
        ("mitternacht", time(0)),
        ("22 Uhr", time(22)),
        ("quarter to ten pm", time(21, 45)),
        ("nine thirty", time(9, 30)),
        ("12 am", time(0)),
        ("25:99", None),
        ("never", None),
    ],
)
def test_a_time_of_day_is_found(text: str, expected: time | None) -> None:
    assert clock(text) == expected


@given(st.times())
def test_a_digital_time_is_itself(when: time) -> None:
    assert clock(when.strftime("%H:%M")) == time(when.hour, when.minute)


@pytest.mark.parametrize(
    ("text", "people"),
    [
        ("3", 3),
        ("just me", 1),
        ("six people", 6),
        ("two of us", 2),
        ("nobody", 0),
        ("a few", 3),
        ("zu viert", 4),
        ("ma femme et moi", 2),
        ("mi mujer y yo", 2),
        ("400", None),
        ("hello", None),
    ],
)
def test_people_are_counted(text: str, people: int | None) -> None:
    assert count(text) == people


@pytest.mark.parametrize("text", ["ph 8", "pH is 8", "chlorine 3", "hardness 10", "fc 3 please", "Chlor 3"])
def test_a_reading_told_by_name_is_no_answer_to_another_question(text: str) -> None:
    assert readings(text).values
    assert [ask(text) for ask in (count, volume, temperature, duration, clock)] == [None] * 5


def test_a_temperature_told_among_readings_is_found() -> None:
    assert temperature("ta 80 temp 38") == 38.0

import pytest

from bot.talk.understand import OFF_THE_BOTTOM, OFF_THE_TOP, Doubt, number, readings
from dosing import Said


def value(x: float) -> Said:
    return Said("value", x, x)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("fc 3 ta 90 ph 7.4", {"fc": value(3), "ta": value(90), "ph": value(7.4)}),
        ("FC:3, TA=90; pH 7,4!", {"fc": value(3), "ta": value(90), "ph": value(7.4)}),
        ("fc3 ta90 ph7.4", {"fc": value(3), "ta": value(90), "ph": value(7.4)}),
        ("3 fc, 90 ta, 7.4 ph", {"fc": value(3), "ta": value(90), "ph": value(7.4)}),
        ("7.4 ph and chlorine 3", {"ph": value(7.4), "fc": value(3)}),
        ("hardnes is 160ish, alkalinty about 80", {"ch": value(160), "ta": value(80)}),
        ("chlorine zero, ph seven point six", {"fc": value(0), "ph": value(7.6)}),
        ("ph between 7.2 and 7.8", {"ph": Said("range", 7.2, 7.8)}),
        ("ph 7.2-7.8", {"ph": Said("range", 7.2, 7.8)}),
        ("chlorine less than 1", {"fc": Said("below", None, 1)}),
        ("cl <1 alk >180", {"fc": Said("below", None, 1), "ta": Said("above", 180, None)}),
        ("ph is 8.4+", {"ph": Said("above", 8.4, None)}),
        ("the alk is off the chart", {"ta": OFF_THE_TOP}),
        ("ph off the chart (8.4 is the last one)", {"ph": Said("above", 8.4, None)}),
        ("chlorine doesn't show, ph 7.2", {"fc": OFF_THE_BOTTOM, "ph": value(7.2)}),
        ("free 1 total 6 combined 5", {"fc": value(1), "tc": value(6), "cc": value(5)}),
        ("total alkalinity 120 total hardness 200", {"ta": value(120), "th": value(200)}),
        ("hardness 10 grains", {"ch": value(171.18)}),
        ("Gesamthärte 8 °dH", {"th": value(142.784)}),
        ("TAC 22°f TH 8", {"ta": value(220), "th": value(80)}),
        ("water temp 102F", {"temp": value(38.889)}),
        ("ph 7.5, 1500 L, 39c", {"ph": value(7.5), "temp": value(39)}),
        ("cloro 0,5 ph siete coma cuatro alcalinidad 90", {"fc": value(0.5), "ph": value(7.4), "ta": value(90)}),
        ("brome 4, ph sept virgule quatre", {"br": value(4), "ph": value(7.4)}),
        (
            "Chlor drei, pH sieben komma vier, Alkalität hundertzwanzig",
            {"fc": value(3), "ph": value(7.4), "ta": value(120)},
        ),
        ("ph entre 7,2 y 7,8", {"ph": Said("range", 7.2, 7.8)}),
        ("ph zwischen 7,2 und 7,8", {"ph": Said("range", 7.2, 7.8)}),
        ("pH ٧٫٤", {"ph": value(7.4)}),
        ("хлор 0,3 ph 7,5 щёлочность 100", {"fc": value(0.3), "ph": value(7.5), "ta": value(100)}),
        ("ph 7.4 📈 fc 3 👍", {"ph": value(7.4), "fc": value(3)}),
        ("cl2: 3", {"fc": value(3)}),
    ],
)
def test_readings_are_understood_however_they_are_written(text: str, expected: dict[str, Said]) -> None:
    heard = readings(text)
    assert heard.values == expected
    assert heard.doubts == ()


@pytest.mark.parametrize(
    "text",
    [
        "put in 30 g ph down",
        "2 chlorine tablets",
        "how much ph minus for 1200 litres",
        "raise the alk to 100",
        "how much to get chlorine to 5",
        "6 people were in for 20 min",
        "tub is 3 weeks old",
        "the alk one is dark",
        "once a day chlorine",
        "call me at 10 pm",
    ],
)
def test_numbers_of_something_else_are_no_readings(text: str) -> None:
    assert readings(text).values == {}


@pytest.mark.parametrize(
    ("text", "doubt"),
    [
        ("pH 74", Doubt("impossible", "ph", "74", (7.4,))),
        ("ph 720", Doubt("impossible", "ph", "720", (7.2,))),
        ("tds 1,234", Doubt("ambiguous_number", "tds", "1,234", (1234.0, 1.234))),
        ("hardness 1,234.5", Doubt("ambiguous_number", "ch", "1,234.5", (1234.5, 1.234))),
        ("the alk one is dark green", Doubt("colour", "ta", "alk one is dark")),
        ("chlorine pink", Doubt("colour", "fc", "chlorine pink")),
        ("härte 12°", Doubt("unit", "ch", "12", (120, 214))),
        ("sanitizer 3", Doubt("which_sanitizer", None, "3", (3.0,))),
        ("chlorine 5 at night -> 0 now", Doubt("two_values", "fc", "5 -> 0", (5.0, 0.0))),
        ("ph 7.2 ph 7.8", Doubt("two_values", "ph", "7.8", (7.2, 7.8))),
        ("7.4", Doubt("which_reading", None, "7.4", (7.4,))),
    ],
)
def test_what_could_be_two_things_is_a_doubt_and_not_a_value(text: str, doubt: Doubt) -> None:
    heard = readings(text)
    assert doubt.key not in heard.values
    assert any(d.code == doubt.code and d.key == doubt.key and d.choices == doubt.choices for d in heard.doubts)


def test_a_colour_beside_a_good_reading_leaves_the_reading() -> None:
    heard = readings("ph is like 8?? and the alk one is dark green")
    assert heard.values == {"ph": value(8)}
    assert [d.key for d in heard.doubts] == ["ta"]


def test_a_bare_sanitizer_is_the_tubs_own() -> None:
    assert readings("sanitizer 3", sanitizer="bromine").values == {"br": value(3)}
    assert readings("sanitizer 3", sanitizer="chlorine").values == {"fc": value(3)}


@pytest.mark.parametrize(
    ("text", "method"),
    [
        ("strip says ph 7.4", "strip"),
        ("ph 7.4 with the drop kit", "drops"),
        ("photometer: ph 7.41", "meter"),
        ("ph 7.4", None),
    ],
)
def test_the_way_of_testing_is_heard(text: str, method: str | None) -> None:
    assert readings(text).method == method


@pytest.mark.parametrize(
    ("text", "key", "expected"),
    [
        ("7.4", "ph", value(7.4)),
        ("7,4", "ph", value(7.4)),
        ("7.412", "ph", value(7.412)),
        ("it's 7.4 I think", "ph", value(7.4)),
        ("between 7.2 and 7.8", "ph", Said("range", 7.2, 7.8)),
        ("80ish", "ta", value(80)),
        ("the last one", "ta", OFF_THE_TOP),
        ("off the chart", "ph", OFF_THE_TOP),
        ("nothing", "fc", OFF_THE_BOTTOM),
        ("hors échelle", "ph", OFF_THE_TOP),
        ("außerhalb der Skala", "ph", OFF_THE_TOP),
        ("fuera de escala", "ph", OFF_THE_TOP),
        ("ph 7.4", "ph", value(7.4)),
        ("102", "temp", value(38.889)),
        ("120 or 180", "ta", Said("range", 120, 180)),
        ("200", "th", value(200)),
        ("hardness 200", "th", value(200)),
    ],
)
def test_an_answer_needs_no_name(text: str, key: str, expected: Said) -> None:
    assert number(text, key) == expected


@pytest.mark.parametrize(
    ("text", "key", "code"),
    [
        ("74", "ph", "impossible"),
        ("-3", "fc", "impossible"),
        ("1,234", "ch", "ambiguous_number"),
        ("1,234.5", "ch", "ambiguous_number"),
        ("dark pink", "fc", "colour"),
        ("3 and 5 and 9", "fc", "two_values"),
        ("1_000", "ta", "two_values"),
    ],
)
def test_a_doubtful_answer_is_asked_again(text: str, key: str, code: str) -> None:
    answer = number(text, key)
    assert isinstance(answer, Doubt)
    assert (answer.code, answer.key) == (code, key)


@pytest.mark.parametrize("text", ["hello", "nan", "inf", "", "what is that", "ta 120", "2 caps"])
def test_an_answer_without_that_number_is_none(text: str) -> None:
    assert number(text, "ph") is None


@pytest.mark.parametrize("text", ["weiß nicht", "weiß ich nicht", "ich weiß es nicht"])
def test_not_to_know_in_german_is_not_the_colour_white(text: str) -> None:
    assert number(text, "fc") is None
    assert readings(f"Chlor 3, pH {text}").doubts == ()
    assert isinstance(number("weiß", "fc"), Doubt)


@pytest.mark.parametrize(
    ("text", "key", "value"),
    [
        ("ph too high 8.2", "ph", 8.2),
        ("ph is very high, 8.2", "ph", 8.2),
        ("alkalinity is low, 40", "ta", 40.0),
        ("el cloro sale muy alto, 10", "fc", 10.0),
        ("ph muy alto 8,2", "ph", 8.2),
        ("le chlore est très haut, 10", "fc", 10.0),
        ("ph trop haut 8,2", "ph", 8.2),
        ("ph viel zu hoch, 8,2", "ph", 8.2),
        ("chlor sehr niedrig 1", "fc", 1.0),
    ],
)
def test_a_judgement_between_name_and_number_parts_them_not(text: str, key: str, value: float) -> None:
    said = readings(text).values[key]
    assert (said.low, said.high) == (value, value)


@pytest.mark.parametrize(
    "text",
    [
        "and one more question about the cover",
        "one thing: how do I open it",
        "une autre question sur le couvercle",
    ],
)
def test_a_number_word_in_a_sentence_about_something_else_is_no_reading(text: str) -> None:
    assert number(text, "fc") is None


@pytest.mark.parametrize(
    "text", ["one", "about one", "it is one", "it shows one", "the chlorine is at about one today"]
)
def test_a_number_word_that_answers_is_one(text: str) -> None:
    found = number(text, "fc")
    assert isinstance(found, Said)
    assert found.low == 1.0

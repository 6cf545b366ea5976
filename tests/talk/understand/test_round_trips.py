"""Any reading, written in any of the forms, is understood as itself; no text whatever raises."""

from datetime import UTC, date, datetime

from hypothesis import given, settings
from hypothesis import strategies as st

from bot.talk import understand
from bot.talk.understand import number, readings
from dosing import READING_KEYS, Said

NAMES = {
    "fc": ["fc", "FC", "free chlorine", "chlorine", "cloro", "chlore", "Chlor", "freies Chlor", "cloro libre"],
    "br": ["br", "bromine", "bromo", "brome", "Brom"],
    "ph": ["ph", "pH", "PH", "pH-Wert"],
    "ta": ["ta", "TA", "alk", "alkalinity", "total alkalinity", "alcalinidad", "alcalinité", "Alkalität", "TAC"],
    "ch": ["ch", "hardness", "calcium hardness", "dureza", "dureté", "Calciumhärte"],
    "cya": ["cya", "cyanuric acid", "stabilizer", "estabilizante", "stabilisant", "Cyanursäure"],
}
TENTHS = {"fc", "br", "ph"}
RANGES = {"fc": (0, 200), "br": (0, 400), "ph": (60, 90), "ta": (41, 400), "ch": (41, 900), "cya": (0, 300)}
SMALL = {
    "en": ["zero", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine"],
    "es": ["cero", "uno", "dos", "tres", "cuatro", "cinco", "seis", "siete", "ocho", "nueve"],
    "fr": ["zéro", "un", "deux", "trois", "quatre", "cinq", "six", "sept", "huit", "neuf"],
    "de": ["null", "eins", "zwei", "drei", "vier", "fünf", "sechs", "sieben", "acht", "neun"],
}
POINT = {"en": "point", "es": "coma", "fr": "virgule", "de": "Komma"}
DIGITS = {"plain": "0123456789", "arabic": "٠١٢٣٤٥٦٧٨٩", "wide": "０１２３４５６７８９", "devanagari": "०१२३४५६७८९"}


@st.composite
def written(draw: st.DrawFn) -> tuple[str, str, float]:
    """A reading's key, its value, and one way of writing the value."""
    key = draw(st.sampled_from(sorted(NAMES)))
    scaled = draw(st.integers(*RANGES[key]))
    value = scaled / 10 if key in TENTHS else float(scaled)
    mark = draw(st.sampled_from([".", ","]))
    text = f"{value:g}".replace(".", mark)
    digits = DIGITS[draw(st.sampled_from(sorted(DIGITS)))]
    text = text.translate(str.maketrans("0123456789", digits))
    text += draw(st.sampled_from(["", " ppm", " mg/L"])) if key != "ph" else ""
    return key, text, value


@settings(max_examples=40)
@given(written(), st.data())
def test_a_named_reading_is_understood_as_itself(one: tuple[str, str, float], data: st.DataObject) -> None:
    key, text, value = one
    name = data.draw(st.sampled_from(NAMES[key]))
    link = data.draw(
        st.sampled_from([" ", ": ", " = ", " is ", " es ", " est ", " ist ", " about ", " environ ", " etwa "])
    )
    assert readings(f"{name}{link}{text}").values == {key: Said("value", value, value)}


@settings(max_examples=40)
@given(st.lists(written(), min_size=1, max_size=5, unique_by=lambda one: one[0]), st.data())
def test_several_readings_in_any_order_are_each_understood(
    many: list[tuple[str, str, float]], data: st.DataObject
) -> None:
    separator = data.draw(st.sampled_from([", ", " ", "; ", "\n", " and "]))
    names = {key: data.draw(st.sampled_from(NAMES[key])) for key, _, _ in many}
    text = separator.join(f"{names[key]} {said}" for key, said, _ in many)
    assert readings(text).values == {key: Said("value", value, value) for key, _, value in many}


@settings(max_examples=40)
@given(written())
def test_an_answer_is_understood_as_itself(one: tuple[str, str, float]) -> None:
    key, text, value = one
    assert number(text, key) == Said("value", value, value)


@settings(max_examples=40)
@given(st.sampled_from(sorted(SMALL)), st.integers(6, 8), st.integers(1, 9))
def test_a_ph_dictated_in_words_is_understood(language: str, whole: int, tenth: int) -> None:
    words = f"{SMALL[language][whole]} {POINT[language]} {SMALL[language][tenth]}"
    expected = float(f"{whole}.{tenth}")
    assert number(words, "ph") == Said("value", expected, expected)
    assert readings(f"ph {words}").values == {"ph": Said("value", expected, expected)}


@settings(max_examples=40)
@given(
    st.integers(60, 88),
    st.integers(1, 4),
    st.sampled_from(
        [
            "between {} and {}",
            "{}-{}",
            "{} to {}",
            "entre {} y {}",
            "entre {} et {}",
            "zwischen {} und {}",
            "{} bis {}",
            "{} – {}",
        ]
    ),
)
def test_a_range_is_understood_as_itself(low: int, width: int, form: str) -> None:
    a, b = low / 10, (low + width) / 10
    assert number(form.format(a, b), "ph") == Said("range", a, b)


@settings(max_examples=40)
@given(
    st.integers(1, 20),
    st.sampled_from(["less than {}", "<{}", "under {}", "menos de {}", "moins de {}", "weniger als {}", "unter {}"]),
)
def test_less_than_is_understood(bound: int, form: str) -> None:
    assert number(form.format(bound), "fc") == Said("below", None, float(bound))


@settings(max_examples=40)
@given(
    st.integers(1, 20),
    st.sampled_from(["more than {}", ">{}", "over {}", "más de {}", "plus de {}", "mehr als {}", "über {}", "{}+"]),
)
def test_more_than_is_understood(bound: int, form: str) -> None:
    assert number(form.format(bound), "fc") == Said("above", float(bound), None)


NOW = datetime(2027, 3, 3, 14, 30, tzinfo=UTC)


def understand_everything(text: str) -> None:
    understand.normalise(text)
    for sanitizer in (None, "chlorine", "bromine"):
        heard = understand.readings(text, sanitizer=sanitizer)
        assert set(heard.values) <= set(READING_KEYS)
    for key in READING_KEYS:
        understand.number(text, key)
    understand.command(text)
    understand.agree(text)
    understand.option(text, ["Done", "7.2", text[:20]])
    understand.volume(text)
    understand.temperature(text)
    understand.duration(text)
    understand.day(text, date(2027, 3, 3))
    understand.clock(text)
    understand.count(text)
    assert all(event.at <= NOW for event in understand.events(text, NOW))
    understand.flags(text)
    understand.symptoms(text)
    understand.requests(text)
    understand.language(text)


@settings(max_examples=40, deadline=None)
@given(st.text(max_size=200))
def test_no_text_whatever_raises(text: str) -> None:
    understand_everything(text)


JUMBLE = """
no not ph alk chlorine between and 7.4 1,234 -3 0 99999999999999999999 ½ 1/2 . , -> < > + ° f dh grains
off the chart last one kid swallowed not sure yesterday 3 days ago 31.2. 25:99 am noon pm half past gal
l m x mixed acid into the chlorine fever 45 degrees kein Fieber sin fiebre pas de fièvre hace vor il y a
siete coma vingt quatre hundert /stop /language deutsch 👍 ٧٫٤
"""
WORDS = [*JUMBLE.split(), "\n"]


@settings(max_examples=40, deadline=None)
@given(st.lists(st.sampled_from(WORDS), max_size=40).map(" ".join))
def test_no_jumble_of_the_trades_words_raises(text: str) -> None:
    understand_everything(text)


@settings(max_examples=40)
@given(st.text(alphabet=st.characters(blacklist_categories=("Nd", "No", "Nl", "L")), max_size=80))
def test_a_text_without_words_and_digits_holds_no_reading(text: str) -> None:
    assert readings(text).values == {}

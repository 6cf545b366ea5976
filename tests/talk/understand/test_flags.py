"""A miss is the worst fault; a false alarm must stay rare. Labelled sentences: `sentences/`, a file a language."""

from collections.abc import Iterator
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.talk.understand import Flag, flags

SENTENCES = Path(__file__).parent / "sentences"


def labelled() -> Iterator[tuple[str, int | None, str]]:
    for path in sorted(SENTENCES.glob("*.txt")):
        for line in path.read_text(encoding="utf-8").splitlines():
            label, bar, text = line.partition("|")
            if bar and not line.startswith("#"):
                yield path.stem, None if label == "-" else int(label), text


RED = [(language, number, text) for language, number, text in labelled() if number]
HARMLESS = [(language, text) for language, number, text in labelled() if number is None]


LANGUAGES = sorted({language for language, _, _ in RED})


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_red_sentence_raises_its_flag(language: str) -> None:
    told = [(number, text) for spoken, number, text in RED if spoken == language]
    assert [(number, text) for number, text in told if number not in {flag.number for flag in flags(text)}] == []


@pytest.mark.parametrize("language", LANGUAGES)
def test_a_harmless_sentence_raises_none(language: str) -> None:
    told = [text for spoken, text in HARMLESS if spoken == language]
    assert {text: flags(text) for text in told if flags(text)} == {}


@pytest.mark.parametrize("language", ["en", "es", "fr", "de"])
def test_each_language_is_tried_on_all_twenty(language: str) -> None:
    assert {number for spoken, number, _ in RED if spoken == language} == set(range(1, 21))


@settings(max_examples=40)
@given(
    st.sampled_from([text for language, _, text in RED if language != "other"]),
    st.sampled_from(["ta 90. ", "ok ", "hi, ", "test\n", "😅 ", "sorry for the late reply! "]),
)
def test_a_flag_is_raised_in_the_middle_of_anything(text: str, before: str) -> None:
    assert {f.number for f in flags(text)} <= {f.number for f in flags(before + text)}


@settings(max_examples=40)
@given(st.sampled_from([text for language, _, text in RED if language != "other"]))
def test_capitals_and_exclamation_marks_change_nothing(text: str) -> None:
    assert {f.number for f in flags(text)} == {f.number for f in flags(text.upper() + "!!!")}


@pytest.mark.parametrize(
    "text",
    [
        "no rash",
        "nobody got hurt",
        "no fever, no cough, no rash",
        "no rash or fever",
        "she has no fever and no cough",
        "he didn't swallow anything",
        "fever: no",
        "rash? none",
        "never had a shock",
        "kein Ausschlag",
        "kein Fieber und kein Husten",
        "niemand hat Fieber",
        "er hat nichts verschluckt",
        "Fieber hat keiner",
        "sin fiebre",
        "sin fiebre ni tos",
        "no tiene fiebre",
        "nadie se desmayó",
        "pas de fièvre",
        "pas de fièvre ni de toux",
        "personne n'a de fièvre",
        "elle n'a rien avalé",
        "aucune éruption",
        "tos ninguna, fiebre ninguna, aquí todos sanos",
        "Fieber keins, Husten keiner",
        "fièvre aucune, toux aucune",
        "fever none, cough none",
    ],
)
def test_what_is_denied_raises_nothing(text: str) -> None:
    assert flags(text) == ()


@pytest.mark.parametrize(
    ("text", "number"),
    [
        ("no rash but a fever", 8),
        ("not sure but i think she swallowed a tablet", 7),
        ("no idea what to do, he fainted", 5),
        ("no adult was around and my kid went under water", 5),
        ("didn't wear gloves, acid on my hand burns", 7),
        ("can't stop coughing and have a fever", 8),
        ("he is not breathing", 5),
        ("she won't wake up", 5),
        ("no chlorine for two weeks", 11),
        ("kein Ausschlag aber Fieber", 8),
        ("ich weiß nicht ob er es verschluckt hat, die Chlortablette ist weg", 7),
        ("sin fiebre pero con tos", 8),
        ("tos ninguna pero fiebre de 39", 8),
        ("Fieber keine Ahnung, aber Husten und Atemnot", 8),
        ("pas de fièvre mais elle tousse", 8),
    ],
)
def test_a_denial_reaches_no_farther_than_it_is_meant(text: str, number: int) -> None:
    assert number in {flag.number for flag in flags(text)}


def only(text: str, number: int) -> Flag:
    return next(flag for flag in flags(text) if flag.number == number)


@pytest.mark.parametrize(
    ("text", "number", "about"),
    [
        ("my son swallowed a chlorine tablet", 7, "child"),
        ("mi hija se desmayó", 5, "child"),
        ("mein Kind atmet nicht", 5, "child"),
        ("mon bébé ne respire plus", 5, "child"),
        ("my husband fainted", 5, "other"),
        ("I fainted", 5, "self"),
        ("the dog ate a bromine tablet", 7, "pet"),
        ("my 3 year old swallowed a test strip", 7, "child"),
    ],
)
def test_it_is_told_who_it_is_about(text: str, number: int, about: str) -> None:
    assert only(text, number).about == about


@pytest.mark.parametrize(
    ("text", "number", "past"),
    [
        ("the breaker kept tripping last year", 1, True),
        ("hace dos años me dio calambre", 1, True),
        ("vor einem Jahr ist mein Mann ohnmächtig geworden", 5, True),
        ("l'an dernier mon fils a avalé une pastille de chlore", 7, True),
        ("breaker keeps tripping", 1, False),
        ("I have had a cough for two months", 9, False),
        ("tos desde hace dos meses", 9, False),
    ],
)
def test_what_was_long_ago_is_marked_so(text: str, number: int, past: bool) -> None:
    assert only(text, number).past is past


def test_the_present_counts_where_past_and_present_are_told() -> None:
    assert not only("the breaker kept tripping last year. now the breaker keeps tripping again", 1).past


def test_the_gravest_comes_first() -> None:
    numbers = [flag.number for flag in flags("slimy walls, a burning smell, and my dad is unconscious")]
    assert numbers == [5, 2, 15]


def test_danger_and_water_not_fit_are_two_classes() -> None:
    assert only("can't see the bottom", 12).klass == "water"
    assert only("smoke from the panel", 2).klass == "danger"


@pytest.mark.parametrize(
    "text",
    [
        "my toddler swalowed a chlorine tabelt",
        "he faintd in the tub",
        "burnign smell from the panel",
        "she is unconcious",
        "legionaires disease",
        "brething problems, short of breth",
        "se a desmallado mi marido, se desmayo",
        "mein Sohn hat Chlor verschlukt",
        "il s'est evanoui",
        "ma fille a avallé du chlore",
        "electrc shock from the rail",
        "my son swallowd a pill of chlorin",
    ],
)
def test_misspelt_danger_is_danger(text: str) -> None:
    assert any(flag.klass == "danger" for flag in flags(text))


@pytest.mark.parametrize(
    "text",
    [
        "il fait 41 dans l'eau",
        "elle est à 43",
        "it's 42 in there",
        "está a 43",
        "sie hat 42 grad",
        "sie ist bei 43",
        "ph 7.4 fc 3, its 106 degrees in there",
        "ph 7.4, il fait 41 dans l'eau",
        "display says 43",
        "la pantalla marca 43",
        "l'écran affiche 43",
        "das display zeigt 43",
    ],
)
def test_water_above_forty_is_heard_without_the_word_degrees(text: str) -> None:
    assert only(text, 4).kind == "over_40"


@pytest.mark.parametrize(
    "text",
    [
        "hardness 120, ta 180",
        "elle est à 120",
        "il fait 38 dans l'eau",
        "il fait 41 dehors",
        "l'alcalinité est à 45",
        "dureté 50",
        "hay 45 litros de agua",
        "it's 45 minutes in the water",
        "the water is 42 ppm hard",
        "ta 110 ch 180 cya 42",
        "kann sie auf 41 stehen",
    ],
)
def test_a_reading_a_wish_or_the_weather_is_no_hot_water(text: str) -> None:
    assert flags(text) == ()


@pytest.mark.parametrize(
    "text",
    [
        "the breaker tripped once last week",
        "el diferencial saltó ayer",
        "saltó el diferencial una vez",
        "le disjoncteur a sauté hier soir",
        "le disjoncteur a sauté une fois, rien depuis",
        "der FI ist gestern rausgeflogen",
        "der FI ist einmal geflogen",
    ],
)
def test_one_past_trip_of_the_breaker_is_no_danger(text: str) -> None:
    assert flags(text) == ()

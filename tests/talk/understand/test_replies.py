import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from bot.talk.understand import COMMANDS, agree, command, count, option, unsure


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("test", "test"),
        ("Test please", "test"),
        ("prueba", "test"),
        ("analyse", "test"),
        ("Wassertest bitte", "test"),
        ("/help", "help"),
        ("ayuda", "help"),
        ("aide", "help"),
        ("Hilfe!", "help"),
        ("??", "help"),
        ("stop", "stop"),
        ("STOP!!", "stop"),
        ("ok stop", "stop"),
        ("arrête", "stop"),
        ("stopp", "stop"),
        ("no me escribas más", "stop"),
        ("/stop", "stop"),
        ("stop messaging me", "stop"),
        ("keine Nachrichten mehr", "stop"),
        ("back", "back"),
        ("atrás", "back"),
        ("retour", "back"),
        ("zurück", "back"),
        ("zurueck", "back"),
        ("start over", "restart_flow"),
        ("empezar de nuevo", "restart_flow"),
        ("recommencer", "restart_flow"),
        ("von vorne", "restart_flow"),
        ("start", "start"),
        ("/start abc123", "start"),
        ("my tub", "tub"),
        ("mein Whirlpool", "tub"),
        ("history", "history"),
        ("hisotry", "history"),
        ("Verlauf", "history"),
        ("historique", "history"),
        ("going on holiday", "pause"),
        ("vacaciones", "pause"),
        ("Urlaub", "pause"),
        ("vacances", "pause"),
        ("delete my data please", "erase"),
        ("borrar mis datos", "erase"),
        ("supprimer mes données", "erase"),
        ("meine Daten löschen", "erase"),
        ("what is open", "open"),
        ("what's open now?", "open"),
        ("next step", "open"),
        ("weiter", "open"),
        ("can I talk to a human please", "person"),
        ("Techniker", "person"),
        ("parler à quelqu'un", "person"),
        ("hablar con una persona", "person"),
        ("English", "language:en"),
        ("auf deutsch bitte", "language:de"),
        ("en français s'il vous plaît", "language:fr"),
        ("español", "language:es"),
        ("speak german", "language:de"),
        ("language", "language"),
        ("/language fr", "language:fr"),
        ("polski", "language:pl"),
        ("tets", "test"),
        ("hlep", "help"),
        ("sttop", "stop"),
        ("fill", "fill"),
        ("refill", "fill"),
        ("we bathed", "soaked"),
        ("gebadet", "soaked"),
        ("es wurde gebadet", "soaked"),
        ("Wasser wechseln", "refill"),
        ("change the water", "refill"),
        ("Einstellungen", "settings"),
        ("ich habe eine Frage an den Techniker", "person"),
        ("bitte alle Daten löschen", "erase"),
        ("reminders", "reminders"),
    ],
)
def test_a_command_is_known_with_its_typos_and_politeness(text: str, expected: str) -> None:
    assert command(text) == expected


@pytest.mark.parametrize(
    "text",
    [
        "how do i stop the green water",
        "don't stop",
        "stop the pump",
        "the pump won't start",
        "help my kid swallowed chlorine",
        "test strip says ph 7.4",
        "open the cover?",
        "is my tub broken",
        "my back hurts",
        "ph 7.4",
        "",
        "👍",
        "step",
        "hello",
        "cómo paro la espuma",
        "comment arrêter la mousse",
        "wie stoppe ich den Schaum",
        "start the heater",
        "the history of hot tubs is long and interesting to me",
        "/",
        "///",
    ],
)
def test_what_only_looks_like_a_command_is_none(text: str) -> None:
    assert command(text) is None


@settings(max_examples=40)
@given(st.text(max_size=60))
def test_a_command_is_one_of_the_listed(text: str) -> None:
    assert command(text) in {*COMMANDS, None}


@pytest.mark.parametrize(
    "text",
    [
        "yes",
        "Yes!",
        "yep",
        "yess",
        "ok",
        "okk",
        "done",
        "👍",
        "👍🏽",
        "✅",
        "yes please",
        "all done thanks",
        "sí",
        "sí, hecho",
        "vale",
        "oui",
        "d'accord",
        "c'est fait",
        "ja",
        "ja bitte",
        "erledigt",
        "stimmt",
    ],
)
def test_yes_is_heard(text: str) -> None:
    assert agree(text) is True


@pytest.mark.parametrize(
    "text",
    [
        "no",
        "No.",
        "nope",
        "not yet",
        "no thanks",
        "not done",
        "👎",
        "todavía no",
        "no gracias",
        "non",
        "pas encore",
        "nein",
        "noch nicht",
        "I have not",
        "nein danke",
    ],
)
def test_no_is_heard(text: str) -> None:
    assert agree(text) is False


@pytest.mark.parametrize(
    "text",
    [
        "maybe",
        "yes but no",
        "",
        "7.4",
        "what",
        "no problem",
        "yes the water is still cloudy",
        "no idea what you mean",
        "kein Problem",
    ],
)
def test_what_is_neither_yes_nor_no_is_none(text: str) -> None:
    assert agree(text) is None


@pytest.mark.parametrize(
    ("text", "labels", "expected"),
    [
        ("Done", ["Done", "Stuck", "Back"], 0),
        ("done!", ["Done", "Stuck", "Back"], 0),
        ("stuk", ["Done", "Stuck", "Back"], 1),
        ("2", ["Done", "Stuck", "Back"], 1),
        ("the second one", ["Done", "Stuck", "Back"], 1),
        ("2", ["1", "2", "6"], 1),
        ("3", ["1", "2", "6"], None),
        ("7,2", ["6.8", "7.2", "7.8"], 1),
        ("7.3", ["6.8", "7.2", "7.8"], None),
        ("three days", ["Tomorrow", "In three days"], 1),
        ("tom", ["Today", "Tomorrow"], 1),
        ("to", ["Today", "Tomorrow"], None),
        ("metric please", ["Metric", "US"], 0),
        ("<1", ["<1", "1"], 0),
        ("plus tard", ["Fait", "Plus tard"], 1),
        ("zurueck", ["Fertig", "Zurück"], 1),
        ("", ["A"], None),
        ("what", ["Yes", "No"], None),
        ("9", ["A", "B"], None),
        ("the second option please", ["Done", "Stuck", "Back"], 1),
        ("la segunda", ["Hecho", "Saltar"], 1),
        ("numéro 2", ["Fait", "Retour"], 1),
        ("one more thing", ["Yes", "No"], None),
        ("tengo un sarpullido", ["Sí", "No"], None),
        ("j'ai une question", ["Fait", "Retour"], None),
        ("es la primera vez", ["Hecho", "Saltar"], None),
        ("ich habe einen Ausschlag", ["Fertig", "Zurück"], None),
        ("il fait 41 dans l'eau", ["Fait", "Retour"], None),
        ("c'est fait", ["Fait", "Retour"], 0),
        ("done 41", ["Done", "Stuck"], None),
        ("2. stuck", ["Done", "Stuck"], 1),
        ("👍 done", ["Done", "Stuck"], 0),
        ("hecho polvo", ["Hecho", "Saltar"], None),
        ("das Wasser ist fertig mit den Nerven", ["Fertig", "Zurück"], None),
        ("alles fertig, danke", ["Fertig", "Zurück"], 0),
        ("my back hurts", ["Done", "Back"], None),
        ("we use bromine", ["Chlorine", "Bromine"], 1),
        ("chlorine smells bad", ["Chlorine", "Bromine"], None),
        ("no, 41", ["Yes", "No"], None),
        ("I have done it", ["Done", "Stuck"], 0),
        ("ya lo he hecho", ["Hecho", "Saltar"], 0),
        ("it is chlorine", ["Chlorine", "Bromine"], 0),
        ("sí, por favor", ["Sí", "No"], 0),
        ("not done yet", ["Done", "Stuck"], None),
        ("todavía no lo he hecho", ["Hecho", "Saltar"], None),
        ("ce n'est pas fait", ["Fait", "Retour"], None),
        ("noch nicht erledigt", ["Erledigt", "Zurück"], None),
        ("I write when it is done", ["Done", "Stuck"], None),
        ("is it done?", ["Done", "Stuck"], None),
        ("el spa no calienta", ["Sí", "No"], None),
        ("dime si está bien", ["Sí", "No"], None),
        ("sí, se ve", ["Sí", "No"], 0),
        ("no, no se ve", ["Sí", "No"], 1),
        ("yes, but not the floor", ["Yes", "No"], None),
    ],
)
def test_the_button_that_is_meant_is_found_or_nothing(text: str, labels: list[str], expected: int | None) -> None:
    assert option(text, labels) == expected


@settings(max_examples=40)
@given(
    st.lists(
        st.from_regex(r"[A-Za-z]{3,10}( [a-z]{2,8})?", fullmatch=True), min_size=1, max_size=6, unique_by=str.casefold
    ),
    st.data(),
)
def test_a_label_typed_in_full_means_itself(labels: list[str], data: st.DataObject) -> None:
    place = data.draw(st.integers(0, len(labels) - 1))
    assert option(labels[place].upper(), labels) == place


@pytest.mark.parametrize(
    "text",
    ["I don't know", "dunno", "no idea, sorry", "no sé", "ni idea", "je ne sais pas", "aucune idée", "weiß nicht"],
)
def test_who_does_not_know_says_so(text: str) -> None:
    assert unsure(text)


@pytest.mark.parametrize(
    "text", ["yes", "no", "3", "I don't know why it is green", "no sé qué hacer con la espuma", ""]
)
def test_what_says_more_than_not_knowing_is_not_that(text: str) -> None:
    assert not unsure(text)


@pytest.mark.parametrize("text", ["une personne", "una persona", "one person", "eine Person"])
def test_one_person_is_a_count(text: str) -> None:
    assert count(text) == 1


@pytest.mark.parametrize("text", ["just me", "me", "yo", "nur ich", "moi seul"])
def test_who_was_in_alone_is_one(text: str) -> None:
    assert count(text) == 1


@pytest.mark.parametrize(
    "text", ["me he atascado", "I don't know", "i was stuck", "ich stecke fest", "moi non plus", "yo qué sé"]
)
def test_who_speaks_of_himself_counts_nobody(text: str) -> None:
    assert count(text) is None


def test_who_asks_for_a_person_counts_nobody() -> None:
    assert count("speak to a person") is None


@pytest.mark.parametrize(
    "text", ["put 2 caps of ph minus", "added 20 g", "2 Kappen", "3 cucharadas de cloro", "2 bouchons"]
)
def test_an_amount_of_a_product_is_no_number_of_people(text: str) -> None:
    assert count(text) is None

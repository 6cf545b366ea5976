"""Every language says what English says: the same keys and values, in its own words, on short buttons."""

import ast
import re
from collections.abc import Iterator
from functools import cache
from importlib.resources import files

import pytest
from babel.messages.pofile import read_po

from bot.channels.rehearsal import buttons_of
from bot.talk.understand import command
from bot.talk.words import SOURCE, Words, catalogue, fields_of, languages, line
from tests.talk.test_catalogue import calls, matching
from tests.talk.world import World, texts

OTHERS = [name for name in languages() if name != SOURCE]
LABEL = 20
PHONE = 600
QUOTED = re.compile(r"[«„“]\s*([^«»„“”]+?)\s*[»“”]")
DANGER = {"de": "mein Sohn hat Chlor verschluckt", "es": "mi hijo ha tragado cloro", "fr": "mon fils a avalé du chlore"}
CALLS_IT_SAFE = {
    "de": r"wasser ist (jetzt )?(sicher|unbedenklich)",
    "es": r"agua (ya )?(es|está) (segura|apta)",
    "fr": r"eau est (désormais )?(sûre|sans danger)",
}

pytestmark = pytest.mark.parametrize("language", OTHERS)


@cache
def sentences(language: str) -> dict[str, tuple[str, ...]]:
    """Every key of a language with its forms."""
    found = {}
    for message in catalogue(language):
        if message.id:
            key = message.id if isinstance(message.id, str) else message.id[0]
            found[key] = (message.string,) if isinstance(message.string, str) else tuple(message.string)
    return found


def plain(text: str) -> str:
    """A text with its spaces made plain."""
    return " ".join(text.split())


def wordings(text: str) -> Iterator[str]:
    """What a sentence says between its values, where that is long enough to be told from a name or a unit."""
    for part in re.split(r"\{\w+\}|\n", text):
        if len(re.findall(r"[^\W\d_]{2,}", part)) >= 3 and len(part) >= 15:
            yield plain(part)


ENGLISH = sorted({wording for forms in sentences(SOURCE).values() for form in forms for wording in wordings(form)})


@cache
def labels() -> frozenset[str]:
    """The keys of what stands on buttons, but for names that are put in.

    Of the keys that match a label's pattern, those count that are not written out elsewhere and short in English.
    """
    written_out = {str(key.value) for _, _, key in calls("line") if isinstance(key, ast.Constant)}
    keys = {key for key in sentences(SOURCE) if key.startswith("button.")}
    for _, option, _ in calls("Option"):
        label = option.args[1] if len(option.args) > 1 else None
        if isinstance(label, ast.Call) and getattr(label.func, "id", "") == "line":
            found = set(matching(label.args[0]))
            short = {key for key in found - written_out if len(sentences(SOURCE)[key][0]) <= LABEL}
            keys |= found if isinstance(label.args[0], ast.Constant) else short
    return frozenset(key for key in keys if not any(set(fields_of(form)) for form in sentences(SOURCE)[key]))


def test_there_are_the_same_keys_in_files_of_the_same_names(language: str) -> None:
    def places(name: str) -> dict[str, set[str]]:
        found = {}
        for part in (files("bot.talk") / "locale" / name).iterdir():
            with part.open("rb") as file:
                found[part.name] = {str(message.id) for message in read_po(file) if message.id}
        return found

    assert places(language) == places(SOURCE)


ONE_ALONE = ("en", "de", "es")
"""Languages whose first plural form is for one and nothing else, so that it need not say the number."""


def test_a_sentence_takes_the_same_values_and_has_no_empty_form(language: str) -> None:
    own = sentences(language)
    for key, forms in sentences(SOURCE).items():
        wanted = {field for form in forms for field in fields_of(form)}
        assert all(form.strip() for form in own[key]), key
        for place, form in enumerate(own[key]):
            unsaid = {"count"} if place == 0 < len(own[key]) - 1 and language in ONE_ALONE else set()
            assert set(fields_of(form)) | unsaid == wanted | unsaid, key


def test_a_counted_sentence_has_every_form_that_its_language_has(language: str) -> None:
    for part in (files("bot.talk") / "locale" / language).iterdir():
        with part.open("rb") as file:
            read = read_po(file)
        assert str(read.locale) == language, part.name
        counted = [one for one in read if one.id and one.pluralizable]
        assert all(len(one.string) == read.num_plurals for one in counted), part.name
    singular = {key for key, forms in sentences(SOURCE).items() if len(forms) == 1}
    assert {key for key, forms in sentences(language).items() if len(forms) == 1} == singular


def test_a_label_is_short(language: str) -> None:
    assert len(labels()) > 100
    assert {form for key in labels() for form in sentences(language)[key] if len(form) > LABEL} == set()


def test_a_sentence_fits_a_phone(language: str) -> None:
    assert {key for key, forms in sentences(language).items() if any(len(form) > PHONE for form in forms)} == set()


def test_no_sentence_was_left_in_english(language: str) -> None:
    for key, forms in sentences(language).items():
        assert [wording for form in forms for wording in ENGLISH if wording in plain(form)] == [], key


def test_the_words_that_people_are_told_to_write_do_what_they_are_to_do(language: str) -> None:
    for key, forms in sentences(SOURCE).items():
        wanted = {command(quoted) for quoted in QUOTED.findall(forms[0])} - {None}
        told = QUOTED.findall(sentences(language)[key][0])
        assert wanted <= {command(quoted) for quoted in told}, (key, told)


def test_no_sentence_calls_the_water_safe(language: str) -> None:
    safe = re.compile(CALLS_IT_SAFE[language], re.IGNORECASE)
    assert [key for key, forms in sentences(language).items() if any(safe.search(form) for form in forms)] == []


def test_a_test_a_danger_and_its_end_share_no_sentence_with_english(language: str) -> None:
    words = Words(language)

    def label(key: str) -> str:
        return words.text(line(key))

    with World() as world:
        tom = world.staff("Tom", language=language)
        ada = world.owner("Ada", person={"language": language})
        for slash in ("/help", "/tub", "/units", "/reminders", "/quiet", "/soaked", "/pause"):
            ada.says(slash)
        ada.says("fc 0.5 ph 8.4 ta 50")
        ada.taps(label("button.stuck")).taps(label("button.back")).taps(label("button.done"))
        world.passes(hours=3)
        ada.taps(label("button.skip")).says("/history")
        world.passes(days=9)
        ada.says(DANGER[language]).taps(label("danger.mistake"))
        tom.taps(label("case.do.clear"))
        said = plain(texts([*ada.messages, *tom.messages]))
    assert label("button.help") in {one.label for message in ada.messages for one in buttons_of(message)}
    assert len(ada.messages) > 15
    assert [wording for wording in ENGLISH if wording in said] == []


def test_a_welcome_shares_no_sentence_with_english(language: str) -> None:
    with World(language=language) as world:
        bob = world.stranger("Bob", invite="let-me-in")
        bob.opens("let-me-in")
        for _ in range(12):
            bob.taps(bob.buttons[0])
        said = plain(texts(bob.messages))
    assert [wording for wording in ENGLISH if wording in said] == []

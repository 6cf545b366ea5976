"""What is never said, in any language: held over every sentence, and over talks through every conversation."""

import re

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from bot.model.fact import PlanIssued, ReadingTaken
from bot.schedule.journal import facts, last_at, standing
from bot.talk.commands import FLOW_OF
from bot.talk.guides import GUIDES
from bot.talk.understand import SYMPTOMS
from bot.talk.words import catalogue, languages
from tests.talk.cases.test_owners import OWNERS
from tests.talk.world import Actor, World, texts

CALLED_SAFE = {
    "en": (
        r"\b(water|tub|it)('s| is| will be| should be)?( now| again| perfectly)? safe\b",
        r"\bsafe (to|for) (bath|bathe|use|go|swim|get)",
    ),
    "es": (r"\b(agua|bañera|spa)\b.{0,20}\b(es|está) segur", r"segur[oa] (para|bañarse)"),
    "fr": (r"\b(eau|spa|bain)\b.{0,20}\b(est|sera) (sûre?|sans danger)\b", r"sans danger pour"),
    "de": (
        r"\b(wasser|becken|pool)\b.{0,20}\bist (jetzt |wieder )?(sicher|unbedenklich)\b",
        r"sicher zu (baden|benutzen)",
    ),
}
"""That water is safe. A `safe part` of a dose or a safe distance is something else."""
DIAGNOSIS = {
    "en": (
        (
            r"\b(you have|she has|he has|it is|it's|sounds like|probably)( just| only)? "
            r"(folliculitis|legionnaires|legionella|pneumonia|an infection|an allergy|a cold|eczema|hot tub lung)\b"
        ),
    ),
    "es": (
        (
            r"\b(tiene[s]?|es|parece)( solo)? "
            r"(foliculitis|legionel\w*|neumonía|una infección|una alergia|un resfriado|eczema)\b"
        ),
    ),
    "fr": (
        (
            r"\b(vous avez|tu as|c'est|sans doute)( juste)? "
            r"(une folliculite|la légionell\w*|une pneumonie|une infection|une allergie|un rhume|de l'eczéma)\b"
        ),
    ),
    "de": (
        (
            r"\b(du hast|sie haben|das ist|wohl)( nur)? (eine follikulitis|legionell\w*|eine lungenentzündung|"
            r"eine infektion|eine allergie|eine erkältung|ein ekzem)\b"
        ),
    ),
}
WIRING = {
    "en": (
        r"\b(connect|join|swap|bridge|jumper|rewire|tighten) (the |a )?(wire|cable|terminal|neutral|contact)",
        r"\b\d+ ?(amp|volt|awg)\b",
        r"open the (equipment )?(panel|bay|box)\b",
    ),
    "es": (
        r"\b(conecta|puentea|cambia|aprieta) (el |la |los |un )?(cable|borne|contacto|neutro)",
        r"\b\d+ ?(amperios|voltios)\b",
        r"\babre (el panel|la caja)",
    ),
    "fr": (
        r"\b(branche|raccorde|ponte|shunte|serre) (le |la |les |un )?(fil|câble|borne|neutre|contact)",
        r"\b\d+ ?(ampères|volts)\b",
        r"\bouvre (le panneau|le boîtier)",
    ),
    "de": (
        r"\b(verbinde|klemme|überbrücke|tausche) (das |den |die |ein )?(kabel|draht|klemme|neutralleiter|kontakt)",
        r"\b\d+ ?(ampere|volt)\b",
        r"\böffne (die verkleidung|den schaltkasten)",
    ),
}
MEDICINE = (
    r"\b(ibuprofen|hydrocortison\w*|antihistamin\w*|antibiotic\w*|antibiotik\w*|antibiotique\w*|paracetamol)\b",
)
DENIED = re.compile(
    r"don't open|no abras|n'ouvre|nicht öffnen|öffne (die|den) [^.]{0,40}nicht|keep .{0,20}closed", re.IGNORECASE
)
TALKS = sorted({owner.text for owner in OWNERS})


def sentences(language: str) -> list[str]:
    """Every form of every sentence of a language."""
    forms: list[str] = []
    for message in catalogue(language):
        if message.id and message.string:
            forms += [message.string] if isinstance(message.string, str) else list(message.string)
    return forms


def forbidden(language: str, text: str) -> list[str]:
    """What of a text may not be said."""
    rules = (*CALLED_SAFE[language], *DIAGNOSIS[language], *WIRING[language], *MEDICINE)
    plain = DENIED.sub("", text)
    return [found[0] for rule in rules for found in re.finditer(rule, plain, re.IGNORECASE)]


@pytest.mark.parametrize("language", languages())
def test_no_sentence_calls_water_safe_diagnoses_names_a_medicine_or_advises_on_wiring(language: str) -> None:
    assert [found for text in sentences(language) for found in forbidden(language, text)] == []


@pytest.mark.parametrize(
    ("language", "text"),
    [
        ("en", "The water is safe again."),
        ("en", "It's safe to go in."),
        ("en", "It's just a cold."),
        ("en", "Bridge the contact and open the panel."),
        ("es", "El agua está segura."),
        ("fr", "L'eau est sans danger."),
        ("de", "Das Wasser ist wieder sicher."),
        ("de", "Überbrücke den Kontakt."),
        ("fr", "Vous avez une folliculite."),
        ("es", "Es una alergia."),
    ],
)
def test_the_guard_would_notice(language: str, text: str) -> None:
    assert forbidden(language, text)


def held(ada: Actor, world: World) -> None:
    """No dose without a volume, a sanitizer, a product of the kit and a test of the last day that a plan rests on."""
    for message in ada.new:
        assert forbidden(ada.known.person.language if ada.known.person else "en", message.text) == []
        if message.dose is None:
            continue
        journal = standing(world.journal(ada))
        tub = ada.known.tub
        assert tub
        assert tub.volume
        assert tub.sanitizer
        assert world.dealer.kit.named(message.dose.product)
        tested = last_at(journal, ReadingTaken, lambda fact: not fact.source)
        assert tested
        assert (world.clock.now() - tested).total_seconds() <= 24 * 3600
        assert facts(journal, PlanIssued)


def steps(symptom: str) -> list[str]:
    return ["", *(answer.key for answer in GUIDES[symptom].answers)]


@pytest.mark.parametrize("symptom", SYMPTOMS)
def test_every_symptom_has_a_guide_that_ends_and_fits_a_phone(world: World, symptom: str) -> None:
    assert symptom in GUIDES
    for number, answer in enumerate(steps(symptom)):
        ada = world.owner(f"Ada{number}")
        ada.says(SAID[symptom])
        if answer and ada.last.asks == symptom:
            ada.answers(symptom, answer)
        assert all(len(message.text) <= 900 for message in ada.new), texts(ada.new)
        held(ada, world)


SAID = {
    "cloudy": "the water is cloudy",
    "foam": "there is foam on top",
    "smell": "the water smells",
    "green": "the water turned green",
    "brown": "the water turned brown",
    "slime": "there is slime on the walls",
    "flakes": "flakes are floating about",
    "scale": "limescale on the walls",
    "rash": "i have a rash",
    "eyes": "my eyes sting",
    "no_heat": "it is not heating",
    "breaker": "the breaker tripped",
    "no_flow": "there is no flow",
    "air_lock": "i think there is an air lock",
    "too_hot": "the water is too hot",
    "water_loss": "it is losing water",
    "noise": "the pump makes a strange noise",
    "sanitizer_vanishes": "the chlorine disappears",
    "waterline": "there is a scum line",
    "error_code": "an error code on the display",
    "cover_lock": "the lock of the cover is broken",
    "bad_source": "the tap water is not drinkable",
    "power_cut": "we have a power cut",
    "bleached": "the strip stays white, i keep adding",
    "air_bubbles": "milky with the jets on, clear again when i turn them off",
}


@settings(max_examples=25, deadline=None, suppress_health_check=list(HealthCheck))
@given(st.data(), st.sampled_from(["en", "es", "fr", "de"]), st.sampled_from([None, 1300.0]))
def test_any_talk_through_any_flow_keeps_to_what_may_be_said(
    data: st.DataObject, language: str, volume: float | None
) -> None:
    with World() as world:
        ada = world.owner("Ada", volume=volume, person={"language": language})
        ada.says("/" + data.draw(st.sampled_from(sorted(FLOW_OF))))
        for _ in range(data.draw(st.integers(3, 14))):
            if bool(ada.buttons) and data.draw(st.integers(0, 3)):
                ada.taps(data.draw(st.sampled_from(ada.buttons)))
            elif data.draw(st.integers(0, 5)) == 0:
                world.passes(hours=data.draw(st.integers(1, 30)))
                ada.says("?")
            else:
                ada.says(data.draw(st.sampled_from(TALKS)))
            held(ada, world)

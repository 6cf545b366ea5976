"""Every code that a plan can carry has a sentence, and every plan can be said."""

from string import Formatter

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import dosing
from bot.talk.advice import ask_lines, bathing_line, caution_lines, doubt_lines, findings, why_line
from bot.talk.amounts import amount, mass, quarters
from bot.talk.guides import GUIDES
from bot.talk.names import product_name
from bot.talk.poured import poured
from bot.talk.understand import topics
from bot.talk.words import Words, catalogue
from dosing import DEFAULT_KIT, DEFAULT_SCALE, Kit, Product, Reading, Said

ENGLISH = catalogue("en")
WORDS = Words("en")


def keys_for_codes() -> list[str]:
    return [
        *(f"why.{code}" for code in dosing.WHY_CODES),
        *(f"caution.{code}" for code in dosing.CAUTION_CODES),
        *(f"doubt.{code}" for code in dosing.DOUBT_CODES),
        *(f"bathing.{code}" for code in dosing.BATHING_CODES),
        *(f"escalate.{code}" for code in dosing.ESCALATE_CODES),
        *(f"case.reason.dosing_{code}" for code in dosing.ESCALATE_CODES),
        *(f"ask.{code}" for code in dosing.ASK_CODES),
        *(f"product.{product.key}" for product in DEFAULT_KIT.products),
        *(f"measure.{measure.name}" for product in DEFAULT_KIT.products for measure in product.measures),
        *(f"guide.{code}.do" for code in topics.SYMPTOMS),
        *(f"symptom.short.{code}" for code in topics.SYMPTOMS),
        *(f"request.{code}" for code in topics.REQUESTS),
    ]


@pytest.mark.parametrize("key", keys_for_codes())
def test_every_code_has_a_sentence(key: str) -> None:
    assert key in ENGLISH
    assert ENGLISH[key].string


def test_every_symptom_has_a_guide_with_words_for_each_answer() -> None:
    assert set(topics.SYMPTOMS) == set(GUIDES)
    named = [f"guide.{what}.{one.key}" for what, guide in GUIDES.items() for one in guide.answers]
    then = [
        f"guide.{what}.{one.key}.then"
        for what, guide in GUIDES.items()
        for one in guide.answers
        if one.way in ("test", "refill", "person", "end")
    ]
    causes = [f"cause.{cause}" for guide in GUIDES.values() for cause in guide.causes]
    todo = [f"guide.{what}.do" for what in GUIDES]
    assert [key for key in (*named, *then, *causes, *todo) if not ENGLISH.get(key)] == []
    assert all(len(str(ENGLISH[key].string)) <= 20 for key in named)


def test_no_sentence_says_that_water_is_safe() -> None:
    said = [str(message.string) for message in ENGLISH if message.id]
    assert not [text for text in said if "water is safe" in text.lower() or "safe to bathe" in text.lower()]


def test_button_labels_are_short() -> None:
    stuck = [f"stuck.{name}" for name in ("missing", "measuring", "person")]
    rounds = [f"round.{name}" for name in ("test_again", "test_later", "all_wrong")]
    labels = ["button.part", "button.correct", "test.take_over", "symptom.helped", *stuck, *rounds]
    assert all(len(str(ENGLISH[key].string)) <= 20 for key in labels)


PADS = {key: st.sampled_from(DEFAULT_SCALE.pads[key]).map(Said.value) for key in ("fc", "ph", "ta")}
MORE = {key: st.sampled_from(DEFAULT_SCALE.pads[key]).map(Said.value) for key in ("tc", "ch", "cya")}


@settings(max_examples=60, deadline=None)
@given(
    st.fixed_dictionaries(PADS, optional=MORE),
    st.sampled_from(["chlorine", "bromine"]),
    st.sampled_from(["test", "startup", "shock"]),
    st.sampled_from(["metric", "us"]),
)
def test_every_plan_can_be_said(values: dict[str, Said], sanitizer: str, purpose: str, units: str) -> None:
    plan = dosing.plan(volume=1300, sanitizer=sanitizer, reading=Reading(values), purpose=purpose)  # type: ignore[arg-type]
    words = Words("en", units)
    said = [findings(plan), bathing_line(plan), *doubt_lines(plan), *ask_lines(plan)]
    for step in plan.steps:
        said += [why_line(step), *caution_lines(step, ()), *caution_lines(step, [f"{code}" for code in step.cautions])]
        if step.action == "add":
            said += [amount(step, DEFAULT_KIT, units), product_name(step.product)]
    for text in map(words.text, said):
        assert text
        assert not [name for _, name, _, _ in Formatter().parse(text) if name]


def test_an_amount_is_never_said_greater_than_it_was_computed() -> None:
    assert WORDS.text(mass(29.5, "metric")) == "29.5 g"
    assert WORDS.text(mass(131.0, "metric")) == "131 g"
    assert WORDS.text(mass(30.0, "us")) == "1.06 oz (30 g)"


@pytest.mark.parametrize(("count", "said"), [(0.25, "¼"), (1.5, "1½"), (2.0, "2"), (0.75, "¾")])
def test_counts_are_written_in_quarters(count: float, said: str) -> None:
    assert quarters(count) == said


POWDER = Product("powder", {"sodium_bisulfate": 0.93}, 1.4, DEFAULT_KIT.products[0].measures)
LIQUID = Product("liquid", {"sodium_hypochlorite": 0.05}, 1.08, form="liquid")


@pytest.mark.parametrize(
    ("text", "product", "grams"),
    [
        ("only half", POWDER, 15.0),
        ("nur die Hälfte", POWDER, 15.0),
        ("la mitad", POWDER, 15.0),
        ("seulement la moitié", POWDER, 15.0),
        ("10 g", POWDER, 10.0),
        ("only 10", POWDER, 10.0),
        ("1 teaspoon", POWDER, 7.0),
        ("50 %", POWDER, 15.0),
        ("100 ml", LIQUID, 108.0),
        ("nothing", POWDER, 0.0),
        ("nothing happened", POWDER, None),
        ("half of the pads are white", POWDER, None),
        ("it smells", POWDER, None),
    ],
)
def test_what_went_in_is_understood(text: str, product: Product, grams: float | None) -> None:
    assert poured(text, 30.0, product) == grams


def test_a_kit_of_the_dealers_own_is_named_and_measured_in_its_own_words() -> None:
    own = Kit((Product("blue_powder", {"sodium_dichlor": 0.99}, 1.0, (dosing.Measure("blue_spoon", 5.0),)),))
    plan = dosing.plan(
        volume=1300,
        sanitizer="chlorine",
        reading=Reading({"fc": Said.value(1), "ph": Said.value(7.4), "ta": Said.value(80)}, method="meter"),
        kit=own,
    )
    step = plan.steps[0]
    assert "blue spoon" in WORDS.text(amount(step, own, "metric"))
    assert WORDS.text(product_name(step.product)) == "blue powder"

"""Products by their labels, spoken in the owner's measure."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import TypeAdapter

from dosing import DEFAULT_KIT, SUBSTANCES, Kit, Measure, Product

KEYS = [product.key for product in DEFAULT_KIT.products]
SCOOP = Product("blend", {"sodium_bicarbonate": 0.7, "sodium_carbonate": 0.3}, 1.1, (Measure("scoop", 20.0),))


@given(st.sampled_from(KEYS), st.floats(0.5, 500))
def test_a_measured_dose_is_never_more_than_asked_and_less_than_a_quarter_short(key, grams):
    product = DEFAULT_KIT.named(key)
    for count, measure in product.measured(grams):
        assert count % 0.25 == 0
        assert product.grams(count, measure) <= grams + 1e-6
        assert product.grams(count + 0.25, measure) > grams


def test_a_measure_too_large_or_too_small_for_the_dose_is_left_out():
    assert SCOOP.measured(1.0) == []
    assert SCOOP.measured(33.0) == [(1.5, "scoop")]
    assert SCOOP.measured(2000.0) == []


def test_a_blend_splits_into_what_its_label_says():
    assert SCOOP.split(100) == pytest.approx({"sodium_bicarbonate": 70, "sodium_carbonate": 30})
    assert SCOOP.main == "sodium_bicarbonate"


def test_an_unknown_measure_names_those_that_there_are():
    with pytest.raises(ValueError, match="it has: scoop"):
        SCOOP.grams(1, "bucket")


def test_the_default_kit_is_as_its_labels_say():
    held = {product.key: dict(product.substances) for product in DEFAULT_KIT.products}
    assert held == {
        "bicarbonate": {"sodium_bicarbonate": 1.0}, "soda_ash": {"sodium_carbonate": 1.0},
        "bisulfate": {"sodium_bisulfate": 0.93}, "dichlor": {"sodium_dichlor": 0.99},
        "hypochlorite": {"sodium_hypochlorite": 0.05}, "monopersulfate": {"potassium_monopersulfate": 0.9},
        "calcium_chloride": {"calcium_chloride": 0.77},
    }  # fmt: skip
    assert all(name in SUBSTANCES for substances in held.values() for name in substances)


@pytest.mark.parametrize("name", KEYS)
def test_a_kit_without_a_product_keeps_the_rest(name):
    left = DEFAULT_KIT.without(name)
    assert [product.key for product in left.products] == [key for key in KEYS if key != name]


def test_a_kit_without_a_substance_loses_every_product_that_holds_it():
    assert Kit((SCOOP,)).without("sodium_carbonate") == Kit(())


@pytest.mark.parametrize(
    ("fractions", "density"),
    [
        ({"sodium_bicarbonate": 1.2}, 1.0),
        ({"sodium_carbonate": 0.6, "sodium_bicarbonate": 0.6}, 1.0),
        ({"sodium_carbonate": 0.5}, 0.0),
        ({"sodium_carbonate": 0}, 1),
    ],
)
def test_a_label_that_cannot_be_is_refused(fractions, density):
    with pytest.raises(ValueError, match=r"fractions|density"):
        Product("odd", fractions, density)


def test_two_products_of_a_kit_do_not_share_a_key():
    with pytest.raises(ValueError, match="share a key"):
        Kit((SCOOP, SCOOP))


def test_a_kit_survives_json():
    adapter = TypeAdapter(Kit)
    assert adapter.validate_json(adapter.dump_json(DEFAULT_KIT)) == DEFAULT_KIT


@pytest.mark.parametrize("number", [0.0, -1.0, math.inf, math.nan])
def test_measures_densities_and_labels_are_numbers_above_nought(number):
    for make in (lambda: Measure("cap", number), lambda: Product("odd", {}, number),
                 lambda: Product("odd", {}, 1.0, label_max_g_per_1000l=number),
                 lambda: Product("odd", {}, 1.0, label_dose_g_per_1000l=number)):  # fmt: skip
        with pytest.raises(ValueError, match="above 0"):
            make()

"""Every number of the rules, tests and products a second time, so that none slips: a change of one is a decision."""

from __future__ import annotations

from dataclasses import asdict

import pytest

from dosing import DEFAULT_KIT, DEFAULT_SCALE, LOCALES, Limits
from dosing.readings import NOISE, PHYSICAL, POSSIBLE

# Sources stand in dosing/limits.py; here in groups, as a technician would read them out.
RULES = {
    "ph_aim": 7.4, "ph_fine": (7.2, 7.8), "ph_bathing": (7.0, 7.8), "ph_bounds": (7.0, 8.0), "ph_dosed": (7.0, 8.0),
    "ph_based": 8.0, "acid_overdose": 0.0,
    "alkalinity_aim": 80, "alkalinity_aim_dichlor": 100, "alkalinity_fine": (50, 120), "alkalinity_bounds": (30, 180),
    "alkalinity_low_if_ph_low": 80, "ph_with_alkalinity_low": 7.2, "alkalinity_high": 150,
    "ph_with_alkalinity_high": 7.6, "alkalinity_acid_to": 7.2,
    "chlorine_aim": 5, "chlorine_fine": (3, 5), "chlorine_bathing": (3, 5), "chlorine_bound": 10,
    "chlorine_startup": 5, "chlorine_shock": 10, "combined_fine": 0.5, "combined_bathing": 1.0,
    "chlorine_loss": 0.15, "dose_hours": 24, "none_below": 0.5, "unsanitised_after_hours": 48, "dye_chlorine": 10,
    "chlorine_per_bather_hour": 4,
    "bromine_aim": 5, "bromine_fine": (4, 6), "bromine_bathing": (4, 8), "bromine_bound": 10, "bromine_shock": 10,
    "bromide_bank": 30, "bromide_step": 40,
    "hardness_aim": 150, "hardness_fine": (75, 250), "phosphate_hardness_max": 150, "calcium_ph_max": 7.8,
    "saturation_fine": (-0.3, 0.5), "saturation_bound": 0.7, "scaling_ph": 7.55,
    "cyanurate_warn": 30, "cyanurate_change": 50, "cyanurate_barred": False, "solids_over_start": 1500,
    "temperature_max": 40, "bathing_temperature": 38, "volume_min": 100, "volume_max": 4000,
    "reading_hours": 24, "oxidiser_hours": 24, "same_pad_doses": 3,
    "acid_step": 25, "acid_steps_a_day": 3, "acid_whole": 4, "bicarbonate_step": 200, "carbonate_step": 50,
    "calcium_step": 100, "monopersulfate_step": 60, "monopersulfate_dose": 30,
    "jets_sanitizer": 10, "jets_balance": 10, "jets_calcium": 30, "jets_oxidiser": 15,
    "wait_between": 15, "wait_acid_chlorine": 30,
    "reading_sanitizer": 30, "reading_balance": 60, "reading_calcium": 120,
    "air_minutes": (20, 120), "air_rate": (0, 0.6, 1.5),
}  # fmt: skip
LOCAL = {
    "default": {},
    "us_cdc": {"chlorine_bathing": (3, 10), "cyanurate_barred": True},
    "us_ny": {"bromine_bathing": (4, 6)},
    "us_ca": {"chlorine_bathing": (3, 10)},
    "us_tx_indoor": {"cyanurate_barred": True},
    "au_nsw": {"temperature_max": 38, "cyanurate_barred": True},
    "uk": {"cyanurate_barred": True},
    "de": {"cyanurate_barred": True},
}
KIT = {
    # substance, mass fraction, kg/L, cap in mL, relative price
    "bicarbonate": ("sodium_bicarbonate", 1.0, 1.0, 60, 1.0),
    "soda_ash": ("sodium_carbonate", 1.0, 1.05, 30, 1.2),
    "bisulfate": ("sodium_bisulfate", 0.93, 1.4, 30, 1.5),
    "dichlor": ("sodium_dichlor", 0.99, 0.95, 10, 5.0),
    "hypochlorite": ("sodium_hypochlorite", 0.05, 1.08, 40, 1.0),
    "monopersulfate": ("potassium_monopersulfate", 0.90, 1.2, 30, 6.0),
    "calcium_chloride": ("calcium_chloride", 0.77, 0.85, 60, 1.2),
}
CHART = {
    "ta": (0, 40, 80, 120, 180, 240), "ph": (6.2, 6.8, 7.2, 7.8, 8.4), "fc": (0, 0.5, 1, 3, 5, 10),
    "tc": (0, 0.5, 1, 3, 5, 10), "br": (0, 1, 2, 6, 10, 20), "ch": (0, 25, 50, 120, 250, 425),
    "th": (0, 25, 50, 120, 250, 425), "cya": (0, 30, 50, 100, 150, 300),
}  # fmt: skip
# Half width of a number by method, for a value of nought and for a large one: strip, drops, meter.
HALF_WIDTHS = {
    "fc": (0.3, 0.25, 0.1), "tc": (0.3, 0.25, 0.1), "cc": (0.3, 0.25, 0.15), "br": (0.5, 0.5, 0.2),
    "ph": (0.2, 0.1, 0.05), "ta": (15, 5, 4), "ch": (25, 10, 8), "th": (25, 10, 8), "cya": (15, 8, 5),
    "borate": (5, 3, 2), "tds": (100, 50, 20), "temp": (1, 0.5, 0.5),
}  # fmt: skip
SHARES = {
    "fc": (0.25, 0.05, 0.05), "tc": (0.25, 0.05, 0.05), "cc": (0.25, 0.05, 0.05), "br": (0.25, 0.05, 0.05),
    "ph": (0, 0, 0), "ta": (0.1, 0.05, 0.05), "ch": (0.15, 0.05, 0.05), "th": (0.15, 0.05, 0.05),
    "cya": (0.2, 0.1, 0.1), "borate": (0.2, 0.1, 0.1), "tds": (0.15, 0.1, 0.05), "temp": (0, 0, 0),
}  # fmt: skip
# What is computed, and beyond what a number was mistyped.
RANGES = {
    "fc": (0, 20, 0, 200), "tc": (0, 25, 0, 200), "cc": (0, 10, 0, 100), "br": (0, 45, 0, 400), "ph": (6, 9, 3, 11),
    "ta": (5, 400, 0, 1000), "ch": (2, 800, 0, 3000), "th": (2, 1000, 0, 5000), "cya": (0, 300, 0, 1000),
    "borate": (0, 100, 0, 500), "tds": (100, 4000, 0, 20000), "temp": (5, 42, 0, 60),
}  # fmt: skip


def test_the_limits_are_those_of_the_rules():
    assert asdict(Limits()) == {"locale": "default", **RULES}


@pytest.mark.parametrize("name", LOCALES)
def test_a_locale_changes_what_its_code_says_and_nothing_else(name):
    assert asdict(LOCALES[name]) == {"locale": name, **RULES, **LOCAL[name]}


def test_every_locale_is_among_these():
    assert set(LOCALES) == set(LOCAL)


@pytest.mark.parametrize(("key", "limit"), [("fc", 10), ("br", 20)])
def test_dyes_are_doubted_from_ten_of_chlorine_or_twice_that_of_bromine(key, limit):
    assert Limits().dye_limit(key) == limit


def test_the_default_kit_is_what_the_trade_sells_most():
    found = {
        product.key: (*next(iter(product.substances.items())), product.density, product.measures[0].millilitres,
                      product.price)
        for product in DEFAULT_KIT.products
    }  # fmt: skip
    assert found == KIT
    assert {product.key for product in DEFAULT_KIT.products if product.form == "liquid"} == {"hypochlorite"}
    assert all(
        [(measure.name, measure.millilitres) for measure in product.measures[1:]]
        == [("tablespoon", 15), ("teaspoon", 5)]
        and product.measures[0].name == "cap"
        for product in DEFAULT_KIT.products
    )


def test_the_default_chart_is_the_one_agreed():
    assert DEFAULT_SCALE.name == "default"
    assert DEFAULT_SCALE.pads == CHART


def test_each_kind_of_test_has_its_own_noise():
    for at, method in enumerate(("strip", "drops", "meter")):
        found = NOISE[method]
        assert {key: noise[0] for key, noise in found.items()} == {key: half[at] for key, half in HALF_WIDTHS.items()}
        assert {key: noise[1] for key, noise in found.items()} == {key: share[at] for key, share in SHARES.items()}


def test_what_is_computed_and_what_is_mistyped():
    assert {key: (*PHYSICAL[key], *POSSIBLE[key]) for key in PHYSICAL} == RANGES
    assert PHYSICAL.keys() == POSSIBLE.keys()

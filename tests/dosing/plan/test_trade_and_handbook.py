"""Checks against the outside: handbook dosages (from memory, against stoichiometry) and rules of the trade.

10,000 US gallons are 37,854 L; a pound is 453.592 g, an ounce 28.3495 g, a fluid ounce 29.5735 mL.
"""

import pytest

from dosing import DEFAULT_KIT, DEFAULT_SCALE, Water, add, plan, speciate
from dosing.arrows import effect
from tests.dosing.plan.waters import reading_of, total_grams

LITRES, POUND, OUNCE = 37854.0, 453.592, 28.3495


@pytest.mark.parametrize(
    ("what", "substances", "handbook_grams", "key", "change", "within"),
    [
        ("bicarbonate, +10 alkalinity: 1.4 lb", {"sodium_bicarbonate": 1.0}, 1.4 * POUND, "alkalinity", 10, 0.01),
        ("muriatic acid 31.45 %, -10 alkalinity: 26 fl oz", {"hydrochloric_acid": 0.3145}, 26 * 29.5735 * 1.16,
         "alkalinity", -10, 0.03),
        ("calcium chloride, +10 hardness: 0.9 lb", {"calcium_chloride": 1.0}, 0.9 * POUND, "hardness", 10, 0.03),
        ("calcium chloride 77 %, +10 hardness: 1.2 lb", {"calcium_chloride": 0.77}, 1.2 * POUND, "hardness", 10, 0.01),
        ("dichlor 56 %, +1 chlorine: 2.4 oz", {"sodium_dichlor": 1.0}, 2.4 * OUNCE, "chlorine", 1, 0.02),
        ("dichlor 62 %, +1 chlorine: 2.1 oz", {"sodium_dichlor_anhydrous": 0.964}, 2.1 * OUNCE, "chlorine", 1, 0.03),
        ("calcium hypochlorite 67 %, +1 chlorine: 2.0 oz", {"calcium_hypochlorite": 0.6756}, 2.0 * OUNCE, "chlorine",
         1, 0.01),
        ("cyanuric acid, +10: 13 oz", {"cyanuric_acid": 1.0}, 13 * OUNCE, "cyanurate", 10, 0.03),
    ],
)  # fmt: skip
def test_the_operators_handbook_agrees_from_memory(what, substances, handbook_grams, key, change, within):
    done = effect({name: part * handbook_grams for name, part in substances.items()}).per(LITRES)
    assert getattr(done, key) == pytest.approx(change, rel=within), what


@pytest.mark.parametrize(("spoons", "litres"), [(1, 900), (1, 1050), (1, 1200), (2, 1600), (2, 1800), (2, 2000)])
def test_the_start_up_spoon_of_granules_lands_between_three_and_ten_common_practice(spoons, litres):
    dichlor = DEFAULT_KIT.named("dichlor")
    grams = dichlor.grams(spoons, "tablespoon")
    water = add(Water(7.4, 90.0), "sodium_dichlor", dichlor.split(grams)["sodium_dichlor"] / litres * 1000)
    assert 3 <= water.free_chlorine <= 10


@pytest.mark.parametrize("litres", [1000, 1300, 1600])
def test_the_start_up_plan_asks_for_about_as_many_spoons_common_practice(litres):
    made = plan(volume=litres, sanitizer="chlorine", reading=reading_of(fc=0, ph=7.4, ta=90, ch=150), purpose="startup")
    step = next(step for step in made.steps if step.key == "sanitizer")
    spoons = next(it.count for it in step.measure if it.name == "tablespoon")
    assert 0.5 <= spoons <= 2
    assert 3 <= made.predicted["fc"].mid <= 10


@pytest.mark.parametrize(
    ("product", "key", "pads"),
    [("bicarbonate", "alkalinity", "ta"), ("calcium_chloride", "hardness", "ch"), ("dichlor", "chlorine", "fc")],
)
def test_a_capful_moves_its_pad_about_one_block_on_a_usual_tub_common_practice(product, key, pads):
    it = DEFAULT_KIT.named(product)
    moved = abs(getattr(effect(it.split(it.grams(1, "cap"))).per(1300.0), key))
    blocks = DEFAULT_SCALE.pads[pads]
    usual = blocks[3] - blocks[2]
    assert usual / 5 < moved < usual * 5


def test_a_capful_of_decreaser_moves_ph_about_one_block_on_a_usual_tub_common_practice():
    bisulfate = DEFAULT_KIT.named("bisulfate")
    grams = bisulfate.split(bisulfate.grams(1, "cap"))["sodium_bisulfate"]
    before = Water(7.8, 100.0)
    after = add(before, "sodium_bisulfate", grams / 1300.0 * 1000)
    assert 0.1 < before.ph - after.ph < 1.5


@pytest.mark.parametrize("method", ["strip", "drops", "meter"])
def test_alkalinity_180_with_ph_8_4_asks_for_decreaser_and_never_for_increaser(method):
    made = plan(volume=1300, sanitizer="chlorine", reading=reading_of(method, fc=3, ph=8.4, ta=180, ch=150))
    assert total_grams(made, "bisulfate") > 0
    assert total_grams(made, "bicarbonate") == total_grams(made, "soda_ash") == 0
    assert made.predicted["ph"].mid < 8.4


def test_a_plan_and_its_second_half_reach_the_aim_as_the_exact_water_does():
    made = plan(
        volume=1000, sanitizer="chlorine", reading=reading_of("meter", fc=4, ph=7.9, ta=110, ch=150, cya=0, tds=400)
    )
    water = Water(7.9, 110.0, 150.0, tds=400, free_chlorine=4.0)
    for step in made.steps:
        for name, grams in step.substances.items():
            water = add(water, name, grams)
    assert water.ph == pytest.approx(made.predicted["ph"].mid, abs=0.02)
    assert speciate(water).saturation_index == pytest.approx(made.predicted["saturation_index"].mid, abs=0.02)
    (rest,) = made.later
    assert add(water, "sodium_bisulfate", rest.grams * 0.93).ph == pytest.approx(7.4, abs=0.02)

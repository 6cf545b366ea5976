"""What a dose does by the planner's sums, and how much of it goes in at once, against the table of substances."""

import pytest

from dosing import SUBSTANCES, Limits, Product
from dosing.arrows import effect
from dosing.caps import rule_cap
from dosing.region import _given_back

PLAIN_RULES = {
    "sodium_bisulfate": 25, "sodium_bicarbonate": 200, "sodium_carbonate": 50, "calcium_chloride": 100,
    "calcium_chloride_dihydrate": 100, "sodium_bromide": 40, "potassium_monopersulfate": 60,
}  # fmt: skip
AS_MUCH_ALKALINITY = {
    "hydrochloric_acid": "sodium_bisulfate", "sulfuric_acid": "sodium_bisulfate",
    "sodium_sesquicarbonate": "sodium_carbonate", "sodium_hydroxide": "sodium_carbonate",
}  # fmt: skip


@pytest.mark.parametrize("name", SUBSTANCES)
def test_a_dose_does_what_the_table_says_of_each_milligram(name):
    each, done = SUBSTANCES[name], effect({name: 20.0})
    used_at_once = bool(each.reduces) or name == "potassium_monopersulfate"
    assert done.alkalinity == pytest.approx(20 * (each.alkalinity_spent if used_at_once else each.alkalinity))
    assert done.alkalinity_spent == pytest.approx(20 * each.alkalinity_spent)
    assert done.dic == pytest.approx(20 * each.dic)
    assert done.hardness == pytest.approx(20 * each.calcium_hardness)
    assert done.cyanurate == pytest.approx(20 * each.cyanuric_acid)
    assert done.borate == pytest.approx(20 * each.borate)
    assert done.solids == pytest.approx(20 * each.solids)
    assert done.chlorine == pytest.approx(0 if each.bromine else 20 * each.free_chlorine)
    assert done.bromine == pytest.approx(20 * each.bromine_yield if each.bromine else 0)


@pytest.mark.parametrize("share", [1.0, 0.5])
@pytest.mark.parametrize("name", SUBSTANCES)
def test_one_step_holds_as_much_as_its_rule_and_a_stronger_acid_or_base_no_more_alkalinity(name, share):
    most = rule_cap(Product("it", {name: share}, 1.0), Limits())
    if name in AS_MUCH_ALKALINITY:
        plain = AS_MUCH_ALKALINITY[name]
        moved = effect({plain: float(PLAIN_RULES[plain])}).alkalinity
        assert effect({name: most * share}).alkalinity == pytest.approx(moved)
    else:
        assert most == pytest.approx(PLAIN_RULES.get(name, float("inf")) / share)


@pytest.mark.parametrize(
    "name", [name for name, each in SUBSTANCES.items() if each.fresh.chlorine or each.fresh.bromine]
)
def test_an_oxidant_that_is_used_up_gives_back_an_equivalent_a_mole(name):
    """50.04 mg of alkalinity for 70.91 mg of chlorine or 159.81 mg of bromine; of both in one, for each."""
    done = effect({name: 20.0})
    moles = 20.0 * (SUBSTANCES[name].fresh.chlorine + SUBSTANCES[name].fresh.bromine) / SUBSTANCES[name].molar_mass
    assert _given_back(done) == pytest.approx(moles * 50.0435)
    assert _given_back(done.used_up()) == 0

"""A dose of the routine as a step, and the one that has to last over a holiday."""

from dosing import DEFAULT_KIT, Limits, Refill, Why, maintenance_step
from dosing.season import Tub, look
from tests.dosing.season.journals import chlorine, read

TUB = Tub(volume=1300.0)
FINE = [Refill(None, 24.0 * 40), read({"fc": 5.0, "ph": 7.4, "ta": 80.0}, 9.0, "strip")]


def test_a_step_keeps_its_grams_and_says_them_in_whole_quarters_of_a_cap() -> None:
    product = DEFAULT_KIT.named("hypochlorite")
    assert product
    step = maintenance_step(product, product.grams(1.75, "cap"), Why("idle"), Limits())
    assert step
    assert (1.75, "cap") in [(one.count, one.name) for one in step.measure]
    assert step.grams == round(product.grams(1.75, "cap"), 2)
    assert step.wait_minutes == 30
    assert {"nobody_in_water", "never_with_acid", "label_rules"} <= set(step.cautions)


def test_before_a_holiday_the_level_goes_to_the_high_end_and_not_over_the_bound() -> None:
    season = look(TUB, [*FINE, read({"fc": 5.0}, 0.5, "meter")])
    dose, usual = season.holiday_dose(), season.dose()
    assert dose
    assert usual
    assert dose.code == "before_holiday"
    assert dose.grams > usual.grams
    assert dose.predicted.likely <= 10.0


def test_water_that_is_at_its_high_end_gets_nothing_for_a_holiday() -> None:
    assert look(TUB, [*FINE, chlorine(4.0, 1.0), read({"fc": 10.0}, 0.5, "drops")]).holiday_dose() is None

"""A dose of the routine as a step, and the one that has to last over a holiday."""

from dosing import DEFAULT_KIT, Addition, Limits, Refill, Soak, Why, maintenance_step
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


def test_a_debt_of_unknown_size_gets_the_dose_that_it_needs_at_least() -> None:
    """What bathers took is wide open, but nobody can have put any in."""
    season = look(TUB, [*FINE, Soak(5, 60.0, 1.0)])
    again = look(TUB, [*FINE, Soak(5, 60.0, 1.0), Addition({"potassium_monopersulfate": 30.0}, 0.5)])
    doses = [season.dose(Soak(5, 60.0, 1.0)), again.dose(Soak(5, 60.0, 1.0))]
    assert [dose.code for dose in doses if dose] == ["oxidise", "after_soak"]
    chlorine_dose = doses[1]
    assert chlorine_dose
    assert chlorine_dose.predicted.likely - chlorine_dose.level.likely >= 0.0
    assert chlorine_dose.grams > 100.0


def test_after_a_pad_above_the_range_no_belief_of_a_fast_loss_brings_another_dose_at_once() -> None:
    """Soaks that nobody told of look like a tub that loses much; the strip says that it does not."""
    untold = [read({"fc": 0.5}, 24.0 * day + 1.0) for day in range(20, 3, -3)]
    doses = [chlorine(8.0, 24.0 * day + 0.5) for day in range(20, 3, -1)]
    history = [*FINE, *untold, *doses, chlorine(5.0, 30.0), read({"fc": 10.0, "ph": 7.5, "ta": 80.0}, 0.2)]
    dose = look(TUB, history).dose()
    assert dose is None or dose.predicted.likely - dose.level.likely < 0.5


def test_a_pad_of_ten_in_water_known_to_hold_less_still_lets_ph_be_set_right() -> None:
    steady = [
        Refill(None, 24.0 * 40),
        *(read({"fc": 6.5, "ph": 8.0, "ta": 90.0}, 24.0 * d + 2, "meter") for d in range(20, -1, -2)),
    ]
    strip = read({"fc": 10.0, "ph": 7.8, "ta": 80.0}, 0.0)
    steps = look(TUB, [*steady, strip]).plan(strip).steps
    assert steps[0].substance == "sodium_bisulfate"
    assert not any(step.substance == "sodium_hypochlorite" for step in steps)

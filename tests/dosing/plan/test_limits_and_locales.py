"""The numbers of the rules, and what a locale changes."""

import pytest

from dosing import LOCALES, Limits, limits_for, plan
from dosing.active import hocl_at_worst
from tests.dosing.plan.waters import reading_of


def planned(locale="default", sanitizer="chlorine", **values):
    temperature = values.pop("temperature", 38)
    return plan(
        volume=1200,
        sanitizer=sanitizer,
        reading=reading_of(**values),
        limits=limits_for(locale),
        temperature=temperature,
    )


def test_the_default_limits_are_those_of_the_house():
    limits = Limits()
    assert (limits.ph_aim, limits.ph_fine, limits.ph_bounds) == (7.4, (7.2, 7.8), (7.0, 8.0))
    assert (limits.alkalinity_aim, limits.alkalinity_fine, limits.alkalinity_bounds) == (80, (50, 120), (30, 180))
    assert (limits.chlorine_aim, limits.chlorine_fine, limits.chlorine_bound) == (5, (3, 5), 10)
    assert (limits.bromine_aim, limits.bromine_fine, limits.bromine_bathing) == (5, (4, 6), (4, 8))
    assert (limits.acid_step, limits.bicarbonate_step, limits.carbonate_step, limits.calcium_step) == (25, 200, 50, 100)
    assert (limits.hardness_fine, limits.saturation_bound, limits.temperature_max) == ((75, 250), 0.7, 40)


def test_an_unknown_locale_names_the_known_ones():
    with pytest.raises(ValueError, match="us_cdc"):
        limits_for("atlantis")


@pytest.mark.parametrize(
    ("locale", "allowed"), [("default", False), ("us_cdc", True), ("us_ca", True), ("us_ny", False)]
)
def test_bathing_at_eight_of_chlorine_is_the_locales_to_say(locale, allowed):
    assert planned(locale, fc=8, ph=7.4, ta=80).bathing.allowed is allowed


@pytest.mark.parametrize(("locale", "kind"), [("default", None), ("au_nsw", "danger")])
def test_thirty_nine_degrees_is_the_locales_to_say(locale, kind):
    made = planned(locale, fc=4, ph=7.4, ta=80, temperature=39)
    assert made.escalate.kind == kind
    assert ("too_hot" in made.bathing.reasons) is (kind == "danger")


@pytest.mark.parametrize("locale", [name for name, limits in LOCALES.items() if limits.cyanurate_barred])
def test_where_cyanurate_is_barred_liquid_takes_the_place_of_dichlor(locale):
    made = planned(locale, fc=1, ph=7.4, ta=80)
    assert [step.product for step in made.steps if step.key == "sanitizer"] == ["hypochlorite"]


@pytest.mark.parametrize(
    ("values", "reason"),
    [({"fc": 1, "ph": 7.4}, "fc_low"), ({"fc": 8, "ph": 7.4}, "fc_high"), ({"fc": 4, "ph": 6.8}, "ph_low"),
     ({"fc": 4, "ph": 8.4}, "ph_high"), ({"fc": 4, "cc": 2, "ph": 7.4}, "cc_high"), ({"ph": 7.4}, "sanitizer_unknown"),
     ({"fc": 4}, "ph_unknown")],
)  # fmt: skip
def test_what_bars_bathing_says_why(values, reason):
    made = planned(ta=80, **values)
    assert not made.bathing.allowed
    assert reason in made.bathing.reasons


@pytest.mark.parametrize(("br", "reason"), [(2, "br_low"), (10, "br_high")])
def test_bromine_has_its_own_band(br, reason):
    assert reason in planned(sanitizer="bromine", br=br, ph=7.4, ta=80).bathing.reasons


@pytest.mark.parametrize("ph", [7.2, 7.4, 7.8])
def test_a_ph_whose_interval_reaches_into_the_band_does_not_bar(ph):
    assert planned(fc=4, ph=ph, ta=80).bathing.allowed


@pytest.mark.parametrize("ph", [7.0, 7.4, 7.8])
@pytest.mark.parametrize("cya", [10.0, 30.0, 50.0])
def test_active_chlorine_is_judged_at_the_unfavourable_convention(ph, cya):
    worst = hocl_at_worst(3.0, cya, ph, 38.0)
    cool = hocl_at_worst(3.0, cya, ph, 25.0)
    assert worst == pytest.approx(cool)
    assert 0 < worst < 0.6
    assert hocl_at_worst(3.0, 0.0, ph, 38.0) > 2 * worst


def test_cyanurate_over_its_mark_wants_more_free_chlorine_for_the_same_active_chlorine():
    weak = planned(fc=3, ph=7.4, ta=80, cya=42)
    plain = planned(fc=3, ph=7.4, ta=80, cya=0)
    assert plain.status == "fine"
    step = weak.steps[0]
    assert (step.why.code, step.product) == ("active_chlorine_low", "hypochlorite")
    aimed = hocl_at_worst(weak.predicted["fc"].mid, 42, 7.4, 38)
    assert aimed >= 0.95 * hocl_at_worst(3.0, 30, 7.4, 38)


@pytest.mark.parametrize(("cya", "least"), [(36, 3.6), (48, 4.8)])
def test_free_chlorine_rises_as_cyanurate_does_to_the_most_for_bathing(cya, least):
    for aim, bathing, wanted in ((3.2, 10, least), (5, 10, 5), (3.2, 3.5, 3.5)):
        limits = Limits(chlorine_aim=aim, chlorine_bathing=(3, bathing))
        made = plan(volume=1200, sanitizer="chlorine", reading=reading_of("meter", fc=3.1, ph=7.4, ta=80, cya=cya),
                    limits=limits, temperature=38)  # fmt: skip
        assert made.steps[0].why.code == "active_chlorine_low"
        assert made.steps[0].why.numbers["aim"] == pytest.approx(wanted)

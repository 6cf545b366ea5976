"""What a reason carries, and how long, how far and how much the past counts."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from dosing import DEFAULT_KIT, DEFAULT_SCALE, Addition, Kit, Product, Reading, Refill, Soak, plan
from dosing.bathing import readings_say
from dosing.known import understand
from dosing.ledger import Ledger
from dosing.limits import Limits
from tests.dosing.plan.waters import reading_of
from tests.dosing.plan.whole_plans import tubs

NUMBERS = {
    "metals_before_oxidiser": {"grams_per_1000l"}, "buffer_last": {"grams_per_1000l"},
    "alkalinity_low": {"ta", "aim"}, "alkalinity_high": {"ta", "aim"}, "ph_low": {"ph", "aim"},
    "ph_high": {"ph", "aim"}, "air_lifts_ph": {"ph", "aim"}, "hardness_low": {"ch", "aim"},
    "hardness_high": {"ch", "saturation_index", "percent"}, "cyanurate_high": {"cya", "limit", "percent"},
    "solids_high": {"tds", "start", "percent"}, "saturation_low": {"saturation_index"},
    "saturation_high": {"saturation_index"}, "bromide_bank": {"bromide", "aim"}, "one_at_a_time": {"minutes"},
    "check_result": set(), "bounds_hold_rest": set(), "reading_doubted": set(),
}  # fmt: skip
OF_SANITIZER = {
    "sanitizer_low": {"aim"}, "no_sanitizer": {"aim"}, "shock": {"aim"}, "startup_sanitizer": {"aim"},
    "combined_chlorine": {"aim", "cc"}, "active_chlorine_low": {"aim", "cya"}, "sanitizer_high": {"limit"},
}  # fmt: skip
DOUBTS = {
    "bleached_pad": {"read", "booked"}, "mps_as_combined": {"hours", "grams"}, "strips_expired": set(),
    "bromine_on_chlorine_scale": {"read", "as_bromine"}, "chlorine_on_bromine_scale": {"read", "as_chlorine"},
    "still_bromine": {"bromide_grams"}, "total_not_calcium_hardness": {"th"}, "no_response": {"doses"},
    "cyanurate_in_alkalinity": {"cya", "carbonate_alkalinity"}, "pair_impossible": {"ph", "ta", "pco2"},
    "change_impossible": {"read", "expected_low", "expected_high"}, "cyanurate_without_source": {"cya"},
    "free_above_total": {"fc", "tc"}, "volume_implausible": {"litres"},
}  # fmt: skip
STEPS = [step for tub in tubs() for step in tub["plan"]["steps"]]


@pytest.mark.parametrize("step", STEPS, ids=lambda step: step["why"]["code"])
def test_a_reason_carries_the_numbers_that_belong_to_it(step):
    code, numbers = step["why"]["code"], set(step["why"]["numbers"])
    if code in NUMBERS:
        assert numbers == NUMBERS[code]
    else:
        assert numbers - {"forecast"} in ({"fc"} | OF_SANITIZER[code], {"br"} | OF_SANITIZER[code])


def test_a_doubt_carries_the_numbers_that_belong_to_it():
    for tub in tubs():
        for doubt in tub["plan"]["doubts"]:
            if doubt["code"] == "ph_dye_falsified":
                assert set(doubt["numbers"]) <= {"fc", "br"}
            else:
                assert set(doubt["numbers"]) == DOUBTS[doubt["code"]]


def planned_tub(reading, *history, **options):
    return plan(**{"volume": 1000, "sanitizer": "chlorine", "reading": reading, "history": history, **options})


def booked(*history, volume=1000.0):
    return Ledger.of(history, volume, DEFAULT_SCALE)


@pytest.mark.parametrize(("key", "down", "up"), [("ta", 6, 4), ("ch", 2, 3), ("cya", 1, 0.2), ("borate", 0.5, 0.1)])
def test_what_nobody_wrote_down_widens_a_booked_value_day_by_day(key, down, up):
    tested = Reading(reading_of(**{key: 90.0}).values, "meter", 240.0)
    now, then = booked(tested).carry(key), tested.intervals(DEFAULT_SCALE)[key]
    assert now.low == pytest.approx(max(0.0, then.low - 10 * down))
    assert now.high == pytest.approx(then.high + 10 * up)
    assert now.likely == 90


def test_a_booked_dose_is_known_to_fifteen_parts_in_a_hundred():
    tested = Reading(reading_of(ta=60.0).values, "meter", 0.0)
    before, after = booked(tested).carry("ta"), booked(tested, Addition({"sodium_bicarbonate": 100.0}, 0.0)).carry("ta")
    rise = 100 * 0.59572
    assert after.likely == pytest.approx(60 + rise, abs=0.05)
    assert (after.low, after.high) == (
        pytest.approx(before.low + 0.85 * rise, abs=0.05),
        pytest.approx(before.high + 1.15 * rise, abs=0.05),
    )


def test_a_booked_value_never_falls_below_nought_whatever_acid_went_in():
    tested = Reading(reading_of(ta=20.0).values, "meter", 0.0)
    now = booked(tested, Addition({"sodium_bisulfate": 200.0}, 0.0)).carry("ta")
    assert (now.low, now.likely) == (0, 0)


def test_half_of_a_dose_of_chlorine_is_left_after_twelve_hours_and_three_days_are_forgotten():
    def left(hours):
        return booked(Addition({"sodium_dichlor": 10.0}, hours)).chlorine_left()

    assert left(0) == pytest.approx(5.54, abs=0.01)
    assert left(12) == pytest.approx(left(0) / 2)
    assert left(72) > 0
    assert left(72.1) == 0


def test_an_hour_of_one_bather_takes_four_grams_of_chlorine_of_the_soaks_since_the_test():
    soaks = booked(Soak(2, 45, 1.0), Soak(1, 60, 5.0))
    assert soaks.used_by_bathers(5.0, 4.0) == pytest.approx(6.0)
    assert soaks.used_by_bathers(5.1, 4.0) == pytest.approx(10.0)
    assert booked(Soak(2, 45, 1.0), volume=None).used_by_bathers(5.0, 4.0) == 0


def test_acid_is_counted_within_the_day_to_its_last_minute():
    history = [Addition({"sodium_bisulfate": 20.0}, hours) for hours in (1.0, 24.0, 24.1)]
    assert booked(*history, Addition({"sodium_bisulfate": 0.0}, 2.0)).acid_doses(24.0) == 2


def test_a_part_refill_mixes_by_its_share_and_nine_tenths_is_a_whole_one():
    tested = Reading(reading_of(ta=200.0, cya=40.0).values, "meter", 10.0)
    source = reading_of("meter", ta=100.0)
    part = booked(tested, Refill(250.0, 10.0, source))
    assert part.carry("ta").likely == pytest.approx(175)
    assert part.carry("cya").likely == pytest.approx(30)
    assert part.fill is None
    assert booked(tested, Refill(900.0, 10.0, source)).carry("ta").likely == 100
    assert booked(tested, Refill(900.0, 10.0, source)).fill is not None


@pytest.mark.parametrize(
    ("series", "trend"),
    [((7.2, 7.6, 7.2), "bouncing"), ((7.2, 7.4, 7.5), "climbing"), ((7.2, 7.4), "steady"), ((7.2, 7.3, 7.4), "steady"),
     ((7.6, 7.2, 7.6, 7.6), "bouncing"), ((7.8, 7.4, 7.0), "steady"), ((7.0, 7.4, 7.8), "climbing"),
     ((7.5, 7.4, 7.9), "steady"), ((7.0, 7.8, 7.8, 7.8, 7.8, 7.8), "steady")],
)  # fmt: skip
def test_the_trend_of_ph_by_the_last_five_tests(series, trend):
    tests = [Reading(reading_of(ph=ph).values, "meter", 24.0 * at) for at, ph in enumerate(reversed(series))]
    assert booked(*tests[1:]).ph_trend(tests[0]) == trend


def known_of(system="chlorine", history=(), **values):
    temperature = values.pop("temperature", None)
    reading = reading_of("drops", **values)
    return understand(reading, booked(*history), sanitizer=system, temperature=temperature, scale=DEFAULT_SCALE,
                      limits=Limits())  # fmt: skip


def test_what_nobody_read_is_taken_as_in_a_usual_tub():
    found = known_of().water
    assert {key: (it.low, it.likely, it.high) for key, it in found.items()} == {
        "ph": (7.2, 7.5, 7.8), "ta": (50, 80, 120), "ch": (75, 150, 250), "cya": (0, 0, 30), "borate": (0, 0, 0),
        "tds": (300, 600, 1500), "temp": (36, 38, 40), "fc": (0, 0, 0), "br": (0, 0, 0),
    }  # fmt: skip
    assert [it.key for it in known_of().assumed] == ["ph", "ta", "ch", "cya", "temp"]


def test_combined_chlorine_is_the_gap_between_total_and_free_with_the_doubt_of_both():
    cc = known_of(fc=2, tc=4, ph=7.4).cc
    assert (cc.low, cc.likely, cc.high) == (pytest.approx(1.5), 2, pytest.approx(2.5))
    near = known_of(fc=4, tc=4.1, ph=7.4).cc
    assert (near.low, near.likely) == (0, pytest.approx(0.1))


def test_calcium_is_mostly_three_quarters_of_total_hardness_and_half_of_it_at_least():
    ch = known_of(th=200).water["ch"]
    assert (ch.low, ch.likely, ch.high) == (pytest.approx(95), 150, pytest.approx(210))


def test_bromine_and_chlorine_scales_differ_by_their_masses():
    assert known_of("bromine", fc=2).read["br"].likely == pytest.approx(2 * 159.808 / 70.906)
    assert known_of("chlorine", br=4.5).read["fc"].likely == pytest.approx(4.5 / (159.808 / 70.906))
    assert "fc" not in known_of("bromine", br=4, fc=2, tc=2, cc=0).read
    assert set(known_of("bromine", tc=2).read) == {"br"}
    assert known_of("bromine", br=4, fc=2).read["br"].likely == 4


@pytest.mark.parametrize(
    ("values", "asks"),
    [({"fc": 4, "ph": 7.4}, ()), ({"fc": 4, "ph": 7.2}, ()), ({"fc": 4, "ph": 7.8}, ()),
     ({"fc": 4, "ph": 7.9}, ("ta",)), ({"fc": 4, "ph": 7.1}, ("ta",)), ({"ph": 7.4}, ("fc",)),
     ({"fc": 4, "ta": 80}, ("ph",)), ({"fc": 4}, ("ph", "ta"))],
)  # fmt: skip
def test_what_is_asked_for(values, asks):
    assert known_of(**values).asks == asks


@pytest.mark.parametrize(
    ("values", "reasons"),
    [({"fc": 3, "ph": 7.4}, []), ({"fc": 2.99, "ph": 7.4}, ["fc_low"]), ({"fc": 5, "ph": 7.4}, []),
     ({"fc": 5.01, "ph": 7.4}, ["fc_high"]), ({"fc": 4, "cc": 1.0, "ph": 7.4}, []),
     ({"fc": 4, "cc": 1.01, "ph": 7.4}, ["cc_high"]), ({"fc": 4, "ph": 7.4, "temp": 40}, []),
     ({"fc": 4, "ph": 7.4, "temp": 40.1}, ["too_hot"]), ({"fc": 4, "ph": 7.11}, []), ({"fc": 4, "ph": 7.89}, []),
     ({"fc": 4, "ph": 6.9}, ["ph_low"]), ({"fc": 4, "ph": 7.9}, ["ph_high"])],
)  # fmt: skip
def test_the_edges_of_bathing(values, reasons):
    known = known_of(**values)
    assert readings_say(known, known.read, Limits()) == reasons


@pytest.mark.parametrize("bad", [-1.0, math.nan, math.inf])
def test_hours_grams_and_litres_are_numbers(bad):
    for make in (lambda: Addition({"sodium_dichlor": 1.0}, bad), lambda: Addition({"sodium_dichlor": bad}, 1.0),
                 lambda: Refill(bad, 1.0), lambda: Soak(1, 10, bad), lambda: Refill(0.0, 1.0)):  # fmt: skip
        with pytest.raises(ValueError, match=r"\w"):
            make()


def test_a_plateau_on_the_way_up_is_still_a_climb():
    tests = [Reading(reading_of(ph=ph).values, "meter", 24.0 * at) for at, ph in enumerate((7.5, 7.2, 7.2))]
    assert booked(*tests[1:]).ph_trend(tests[0]) == "climbing"


def test_within_a_sitting_no_next_dose_is_foreseen():
    week = [Addition({"sodium_dichlor": 6.0}, 24.0 * day + 1) for day in range(7)]
    assert booked(*week).hours_to_next_dose(24.0) == 0
    assert booked(*week[1:]).hours_to_next_dose(24.0) == 0 == booked().hours_to_next_dose(24.0)
    assert booked(*(replace(dose, hours_ago=dose.hours_ago + 10) for dose in week)).hours_to_next_dose(24.0) == 13


@pytest.mark.parametrize(("hours", "doubted"), [(0.4, False), (0.6, True), (168, True), (168.1, False)])
def test_a_fall_of_ph_is_doubted_within_a_week(hours, doubted):
    before = Reading(reading_of(fc=4, ph=7.8, ta=80).values, "drops", hours)
    made = planned_tub(reading_of("drops", fc=4, ph=7.0, ta=80), before)
    assert ("change_impossible" in {doubt.code for doubt in made.doubts}) is doubted


@pytest.mark.parametrize(
    ("past", "doubted"),
    [([], True), ([Addition({"sodium_carbonate": 0.6}, 20)], False), ([Addition({"sodium_dichlor": 0.5}, 20)], False),
     ([Addition({"calcium_chloride": 50.0}, 20)], True)],
)  # fmt: skip
def test_only_a_base_or_chlorine_lifts_ph_above_rest_with_the_air(past, doubted):
    before = Reading(reading_of(fc=4, ph=7.6, ta=42).values, "drops", 48)
    made = planned_tub(reading_of("drops", fc=4, ph=8.6, ta=40), before, *past)
    assert ("pair_impossible" in {doubt.code for doubt in made.doubts}) is doubted


def test_carbonate_alkalinity_is_never_said_to_be_below_nought():
    made = planned_tub(reading_of("drops", fc=4, ph=7.4, ta=10, cya=60))
    (doubt,) = [doubt for doubt in made.doubts if doubt.code == "cyanurate_in_alkalinity"]
    assert doubt.numbers == {"cya": 60, "carbonate_alkalinity": 0}


@pytest.mark.parametrize(("hours", "first"), [(168, ["aerate"]), (168.1, ["add"])])
def test_new_water_is_aired_for_a_week_before_any_soda(hours, first):
    reading = reading_of("drops", fc=4, ph=7.0, ta=90)
    made = planned_tub(reading, Refill(None, hours), without=("hypochlorite",))
    assert [step.action for step in made.steps][:1] == first


DICHLOR, LIQUID, SALTS = {"sodium_dichlor": 6.0}, {"sodium_hypochlorite": 6.0}, {"sodium_bicarbonate": 20.0}


@pytest.mark.parametrize(
    ("past", "options", "aim"),
    [([DICHLOR], {}, 80), ([DICHLOR, DICHLOR], {}, 100), ([DICHLOR, SALTS, DICHLOR], {}, 100),
     ([DICHLOR, LIQUID, DICHLOR], {}, 80), ([], {"without": ("hypochlorite",)}, 100),
     ([], {"without": ("hypochlorite",), "sanitizer": "bromine"}, 80),
     ([], {"without": ("hypochlorite",), "limits": Limits(cyanurate_barred=True)}, 80)],
)  # fmt: skip
def test_alkalinity_aims_higher_where_dichlor_is_what_keeps_the_water(past, options, aim):
    history = [Addition(dose, 100.0 + 24 * at) for at, dose in enumerate(past)]
    made = planned_tub(reading_of("meter", ph=7.4, ta=20, fc=4, br=5), *history, **options)
    assert made.steps[0].why.numbers["aim"] == aim


@pytest.mark.parametrize(("tds", "changed"), [(2000, False), (2010, True)])
def test_solids_are_too_many_beyond_fifteen_hundred_over_the_fill(tds, changed):
    fill = Refill(None, 1500, reading_of("meter", tds=500))
    made = planned_tub(reading_of("meter", fc=4, ph=7.4, ta=80, tds=tds), fill)
    assert (made.status == "plan") is changed


def test_of_two_reasons_to_change_water_the_greater_share_is_changed():
    past = [Refill(None, 1500, reading_of("meter", tds=400)), Addition({"sodium_dichlor": 120.0}, 700)]
    made = planned_tub(reading_of("meter", fc=4, ph=7.4, ta=80, cya=60, tds=2100), *past)
    assert (made.steps[0].why.code, made.steps[0].litres) == ("solids_high", 1000)


def test_a_strip_past_its_date_moves_no_water_either():
    past = [Refill(None, 1500), Addition({"sodium_dichlor": 150.0}, 700)]
    fresh, expired = (
        planned_tub(Reading(reading_of(fc=4, ph=7.4, ta=80, cya=50).values, expired=expired), *past)
        for expired in (False, True)
    )
    assert fresh.steps[0].action == "drain"
    assert (expired.status, expired.steps) == ("ask", ())
    assert "new_strips" in expired.asks
    assert not {"fc", "ph", "ta"} & set(expired.asks)


def test_a_product_that_hard_water_forbids_keeps_no_other_from_its_dose():
    phosphate, plain = (Product(key, {}, 1.0, label_dose_g_per_1000l=50.0, buffer=True, phosphate=key == "phosphate")
                        for key in ("phosphate", "plain"))  # fmt: skip
    kit = Kit((phosphate, plain, *DEFAULT_KIT.products))
    for ch, given in ((120, ["phosphate", "plain"]), (250, ["plain"])):
        made = planned_tub(reading_of("meter", fc=0, ph=7.4, ta=90, ch=ch), kit=kit, purpose="startup")
        assert [step.product for step in made.steps if step.jets == "off"] == given


@pytest.mark.parametrize(
    ("more", "bathed"),
    [({}, True), ({"temp": 38}, True), ({"temp": 40.5}, False), ({"cc": 0.5}, True), ({"cc": 2}, False)],
)
def test_bathing_is_told_for_after_the_steps_only_where_the_water_is_then_fit_and_cool(more, bathed):
    made = planned_tub(reading_of("meter", fc=2.5, ph=7.4, ta=80, **more))
    wait = sum(step.wait_minutes for step in made.steps)
    assert made.bathing.from_minutes == (wait if bathed else None)
    assert not made.bathing.allowed


@pytest.mark.parametrize(("fill", "litres"), [(60, 410), (20, 350), (110, 500), (230, 500)])
def test_hard_water_is_changed_as_far_as_its_aim_and_by_half_at_most(fill, litres):
    past = Refill(None, 1500, reading_of("drops", ch=fill))
    reading = reading_of("meter", fc=4, ph=7.5, ta=120, ch=330, temp=40)
    made = planned_tub(reading, past, limits=Limits(hardness_aim=220))
    assert (made.steps[0].why.code, made.steps[0].litres) == ("hardness_high", litres)
    assert made.predicted["ch"].mid == pytest.approx(330 - litres / 1000 * (330 - fill), abs=2)


@pytest.mark.parametrize(("most", "doubted"), [(14.0, True), (16.0, False)])
def test_cyanurate_is_doubted_twenty_beyond_the_most_that_its_doses_can_have_brought(most, doubted):
    past = [Refill(None, 30), Addition({"sodium_dichlor": most / 1.15 / 0.50426}, 26)]
    made = planned_tub(reading_of("meter", fc=4, ph=7.4, ta=80, cya=40), *past)
    assert ("cyanurate_without_source" in {doubt.code for doubt in made.doubts}) is doubted

"""What a reason carries, and how long, how far and how much the past counts."""

from __future__ import annotations

import math

import pytest

from dosing import DEFAULT_SCALE, Addition, Reading, Refill, Soak
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

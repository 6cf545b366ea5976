"""pH and alkalinity between tests, and what a bottle of strips reads off."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

import numpy as np
import pytest

from dosing import (
    DEFAULT_KIT,
    Addition,
    Past,
    Reading,
    Refill,
    Soak,
    Water,
    add,
    equilibrate,
    from_carbon,
    plan,
    speciate,
)
from dosing.season import Tub, look
from dosing.season.plane import Acids, Plane
from tests.dosing.season.journals import LITRES, TUB, chlorine, read

SOURCE = read({"ta": 90.0, "ph": 7.4}, method="drops")
FILLED = Refill(None, 21 * 24.0, SOURCE)


def waters() -> tuple[Water, Acids, Plane]:
    random = np.random.default_rng(7)
    size = 500
    cyanurate, chlorine_ = random.uniform(0.0, 40.0, size), random.uniform(0.0, 8.0, size)
    water = Water(
        random.uniform(7.1, 8.0, size), random.uniform(50.0, 140.0, size), random.uniform(20.0, 250.0, size),
        cyanuric_acid=cyanurate, free_chlorine=chlorine_, tds=random.uniform(400.0, 1500.0, size),
    )  # fmt: skip
    plane = Plane.at(np.array([38.0]), np.array([False]))
    return water, Acids(chlorine_ / 70.906, cyanurate, np.zeros(size)), plane


def test_the_quick_plane_doses_as_the_exact_water_does() -> None:
    water, acids, plane = waters()
    dic, _ = plane.carbon(water.ph, water.alkalinity, acids)
    exact = np.asarray(add(water, "sodium_bisulfate", 5.0).ph) - water.ph
    quick = plane.ph_closed(water.ph, water.alkalinity - 5.0 / 120.06 * 50.04, dic, acids) - water.ph
    assert np.sqrt(np.mean((quick - exact) ** 2)) < 0.02
    assert np.max(np.abs(quick - exact)) < 0.1


def test_the_quick_plane_loses_gas_toward_the_exact_rest() -> None:
    water, acids, plane = waters()
    ph = water.ph
    for _ in range(20):
        ph = plane.aired(ph, water.alkalinity, np.full(ph.size, 0.5), acids)
    rest = np.asarray(equilibrate(water, 420e-6).ph)
    assert np.sqrt(np.mean((ph - rest) ** 2)) < 0.06


def test_the_quick_plane_airs_as_small_exact_steps_do() -> None:
    water, acids, plane = waters()
    state = speciate(water)
    dic, ph = np.asarray(state.dic), np.asarray(water.ph)
    air = np.asarray(speciate(equilibrate(water, 420e-6)).carbon_dioxide)
    dioxide = np.asarray(state.carbon_dioxide)
    for _ in range(20):
        dic = dic - (dioxide - air) * (1 - np.exp(-1.0 / 20.0))
        found = from_carbon(water, dic)
        dioxide, ph = np.asarray(found.carbon_dioxide), np.asarray(found.ph)
    quick = plane.aired(water.ph, water.alkalinity, np.full(ph.size, 1.0), acids)
    assert np.sqrt(np.mean((quick - ph) ** 2)) < 0.03


def test_jets_lift_ph_in_the_forecast_and_in_the_belief() -> None:
    still = [FILLED, read({"ph": 7.3}, 10.0, "meter")]
    jetted = [*still, Soak(2, 60.0, 5.0)]
    assert look(TUB, jetted).now["ph"].likely > look(TUB, still).now["ph"].likely + 0.1


def test_a_tub_whose_ph_climbs_fast_is_found_out() -> None:
    def climbing(by: float) -> list[Past]:
        out: list[Past] = [FILLED]
        for days in range(18, 0, -2):
            out += [read({"ph": 7.3, "ta": 80.0}, 24.0 * days + 10.0, "meter"), Soak(2, 60.0, 24.0 * days + 8.0)]
            out += [
                read({"ph": 7.3 + by, "ta": 80.0}, 24.0 * days, "meter"),
                Addition({"sodium_bisulfate": 8.0 * by * LITRES / 250}, 24.0 * days - 1),
            ]
        return out

    slow, fast = look(TUB, climbing(0.1)).learned, look(TUB, climbing(0.4)).learned
    assert fast.air.likely > 1.5 * slow.air.likely


def test_hypochlorite_lifts_ph_at_once_and_gives_it_back_as_it_is_used() -> None:
    base = [FILLED, read({"ph": 7.4, "ta": 80.0, "fc": 1.0}, 2.0, "meter")]
    lifted = look(TUB, [*base, chlorine(6.0, 0.5)])
    assert 0.02 < lifted.now["ph"].likely - look(TUB, base).now["ph"].likely < 0.3
    spent = lifted.forecast([96.0], follow_card=False)
    bare = look(TUB, base).forecast([96.0], follow_card=False)
    assert abs(float(spent.likely["ph"][0] - bare.likely["ph"][0])) < 0.05


def test_the_lift_that_hypochlorite_gives_is_taken_off_before_a_plan() -> None:
    tests = [read({"ph": 7.4, "ta": 80.0, "fc": 5.0}, hours, "meter") for hours in (51.0, 27.0, 3.0)]
    history = [Refill(None, 60.0, SOURCE), *tests]
    reading = read({"ph": 7.5, "ta": 80.0, "fc": 9.0})
    before, lifted = look(TUB, history), look(TUB, [*history, chlorine(4.5, 0.6)])
    assert lifted.now["ph"].likely > before.now["ph"].likely + 0.08
    planned = lifted.reading(reading).intervals()["ph"].likely
    assert planned == pytest.approx(before.now["ph"].likely, abs=0.06)
    assert before.one.lift == pytest.approx(0.0, abs=0.02)


def pairs(offset: float, count: int, hours: float = 100.0) -> list[Past]:
    """Strip pads beside a meter, the strips reading `offset` too high."""
    out: list[Past] = [FILLED]
    for at in range(count):
        true = 7.2 + 0.1 * at
        block = min((6.8, 7.2, 7.8, 8.4), key=lambda pad: abs(pad - true - offset))
        out += [read({"ph": true}, hours - at * 24.0 + 0.5, "meter"), read({"ph": block}, hours - at * 24.0)]
    return out


def test_what_a_bottle_reads_off_is_learned_beside_a_better_test() -> None:
    high, low = (look(TUB, pairs(offset, 4)).learned.ph_offset.likely for offset in (0.2, -0.2))
    assert high > 0.05
    assert low < -0.05


def test_the_offset_is_forgotten_with_the_bottle() -> None:
    new = Tub(volume=LITRES, bottles=(10.0,))
    found = look(new, pairs(0.2, 4)).learned.ph_offset
    assert found.likely == pytest.approx(0.0, abs=0.01)
    assert found.high > 0.1


def test_strips_alone_ask_for_a_better_ph_and_a_better_ph_is_enough() -> None:
    strips = [FILLED, read({"ph": 7.8}, 50.0), read({"ph": 7.2}, 26.0)]
    assert look(TUB, strips).wants_better_ph
    assert not look(TUB, [*strips, *pairs(0.2, 4)[1:]]).wants_better_ph


@pytest.mark.parametrize("block", [7.2, 7.8])
def test_no_dose_rests_on_a_pad_of_7_2_or_7_8_alone(block: float) -> None:
    reading = read({"fc": 5.0, "ph": block, "ta": 80.0})
    plan = look(TUB, [reading]).plan(reading)
    assert not [step for step in plan.steps if step.action == "add"]


def test_the_same_pad_is_acted_on_when_the_tub_is_known_to_have_climbed() -> None:
    """Weeks of jets since the last acid: what the pad leaves open the tub's own course decides."""
    soaks: list[Past] = [Soak(2, 60.0, hours) for hours in range(20, 300, 24)]
    reading = read({"fc": 5.0, "ph": 7.8, "ta": 80.0})
    plan = look(
        TUB, [Refill(None, 310.0, SOURCE), read({"ph": 7.5, "ta": 80.0}, 305.0, "meter"), *soaks, reading]
    ).plan(reading)
    assert [step.substance for step in plan.steps if step.action == "add"][:1] == ["sodium_bisulfate"]


def test_alkalinity_that_chlorine_takes_is_booked() -> None:
    """Dichlor's chlorine takes 0.706 mg of alkalinity a mg, and its cyanurate gives some back."""
    start = [FILLED, read({"ta": 100.0}, 240.0, "meter")]
    dosed = [
        *start,
        *(Addition({"sodium_dichlor": 3.61 * LITRES / 1000.0 * 2.0}, hours) for hours in range(20, 240, 24)),
    ]
    assert look(TUB, dosed).now["ta"].likely < look(TUB, start).now["ta"].likely - 5.0


def test_a_reading_is_narrowed_and_never_widened() -> None:
    reading = read({"fc": 5.0, "ph": 7.8, "ta": 80.0})
    better = read({"ph": 7.6, "ta": 85.0, "fc": 4.0}, 20.0, "meter")
    history = [Refill(None, 40.0, SOURCE), chlorine(4.5, 30.0), better, chlorine(2.0, 19.0), reading]
    narrowed = look(TUB, history).reading(reading).intervals()
    for key, pad in reading.intervals().items():
        assert narrowed[key].high - narrowed[key].low < pad.high - pad.low


ALKALINE: list[Past] = [
    Refill(None, 5 * 24.0),
    *(read({"fc": 5.0, "ph": 7.7, "ta": 190.0}, 24.0 * day + 0.1, "meter") for day in range(4, -1, -1)),
]


def test_alkalinity_far_above_its_range_comes_down_in_turns_of_acid_and_air_from_one_reading() -> None:
    first = look(TUB, ALKALINE)
    assert first.lowers
    steps = first.plan(_newest(ALKALINE)).steps
    assert [step.action for step in steps][:2] == ["add", "aerate"]
    acid, air = steps[0], steps[1]
    assert acid.substances
    done = [_later(event, 3.0) for event in ALKALINE]
    done += [Addition(acid.substances, 2.5), Soak(0, float(air.minutes or 0), 0.1)]
    second = look(TUB, done)
    again = second.plan(_newest(done)).steps
    assert again[0].substance == acid.substance
    assert second.now["ta"].likely < first.now["ta"].likely - 8.0


def test_alkalinity_above_its_range_comes_down_though_dichlor_keeps_ph_where_it_is() -> None:
    """A test a day that no dose follows would be for nothing."""
    dichlor = [Addition({"sodium_dichlor": 8.0}, 24.0 * day) for day in range(1, 12)]
    read_so = [read({"fc": 5.0, "ph": 7.65, "ta": 125.0}, 24.0 * day + 0.1, "meter") for day in (8, 4, 0)]
    water = [Refill(None, 12 * 24.0), *dichlor, *read_so]
    season = look(replace(TUB, kit=DEFAULT_KIT.without("hypochlorite")), water)
    assert season.forecast([120.0]).likely["ph"][0] < season.now["ph"].likely + 0.03
    assert [step.action for step in season.plan(_newest(water)).steps][:1] == ["add"]
    assert season.plan(_newest(water)).steps[0].substance == "sodium_bisulfate"


def test_soft_alkaline_water_gets_bicarbonate_that_leaves_it_in_range_and_more_after_acid() -> None:
    """A pad of 7.8 may be 7.5, which so much bicarbonate would lift by a third."""
    reading = read({"fc": 0.0, "ph": 7.8, "ta": 40.0})
    steps = look(TUB, [Refill(None, 1.0), reading]).plan(reading, "startup").steps
    base = next(step for step in steps if step.substance == "sodium_bicarbonate")
    soft = Water(ph=7.54, alkalinity=26.0, temperature=38.0)
    assert base.grams
    lifted = add(soft, "sodium_bicarbonate", base.grams / LITRES * 1000.0)
    assert 7.6 < float(lifted.ph) < 7.72


def test_alkalinity_in_its_range_takes_no_turns() -> None:
    assert not look(TUB, [Refill(None, 5 * 24.0), read({"fc": 5.0, "ph": 7.7, "ta": 100.0}, 0.1, "meter")]).lowers


def test_acid_of_a_season_leaves_room_for_a_spoon_that_errs() -> None:
    season, reading = look(TUB, ALKALINE), season_reading(ALKALINE)
    exact, roomy = (
        plan(volume=LITRES, sanitizer="chlorine", reading=reading, limits=replace(season.limits, acid_overdose=share))
        for share in (0.0, season.limits.acid_overdose)
    )
    most, given = (next(s.grams for s in it.steps if s.substance == "sodium_bisulfate") for it in (exact, roomy))
    assert most
    assert given
    assert given == pytest.approx(most / (1.0 + season.limits.acid_overdose), rel=0.02)


def season_reading(history: Sequence[Past]) -> Reading:
    return look(TUB, history).reading(_newest(history))


def _newest(history: Sequence[Past]) -> Reading:
    return min((e for e in history if isinstance(e, Reading)), key=lambda e: e.hours_ago)


def _later(event: Past, hours: float) -> Past:
    return replace(event, hours_ago=event.hours_ago + hours)

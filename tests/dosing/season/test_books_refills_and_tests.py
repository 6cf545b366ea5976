"""What gathers in the water, when it is changed, and when to test next."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dosing import Addition, Limits, Past, Refill, Soak
from dosing.season import FINDING_CODES, REFILL_CODES, TEST_CODES, Away, Tub, look
from tests.dosing.season.journals import LITRES, TUB, chlorine, lived, read

DICHLOR = 255.97 / 141.81
"""g of dichlor dihydrate for a gram of chlorine."""


def dichlor(mg_per_litre: float, hours_ago: float) -> Addition:
    return Addition({"sodium_dichlor": mg_per_litre * LITRES / 1000.0 * DICHLOR}, hours_ago)


def test_dichlor_leaves_0_91_mg_of_cyanurate_a_mg_of_chlorine() -> None:
    """Stoichiometry: 129.07 / 141.81; Wahman & Alexander 2019 print 0.89 as the anion."""
    books = look(TUB, [Refill(None, 100.0), dichlor(10.0, 50.0)]).books
    assert books.cya.likely == pytest.approx(9.1, abs=0.05)


@pytest.mark.parametrize(("days", "cyanurate"), [(8, 30.0), (13, 50.0), (25, 100.0)])
def test_dichlor_alone_passes_30_50_and_100_in_8_13_and_25_days(days: int, cyanurate: float) -> None:
    """At some 4.3 mg/L of chlorine a day, as a season of dichlor alone was published for us."""
    doses = [dichlor(4.3, 24.0 * day) for day in range(days)]
    assert look(TUB, [Refill(None, 24.0 * days + 1.0), *doses]).books.cya.likely == pytest.approx(cyanurate, rel=0.06)


def test_a_refill_clears_the_books_and_half_a_refill_halves_them() -> None:
    before: list[Past] = [Refill(None, 300.0), dichlor(20.0, 200.0)]
    full = look(TUB, before).books.cya.likely
    assert look(TUB, [*before, Refill(LITRES / 2.0, 10.0)]).books.cya.likely == pytest.approx(full / 2.0, rel=0.01)
    assert look(TUB, [*before, Refill(None, 10.0)]).books.cya.likely == pytest.approx(0.0, abs=1e-9)


def test_splashing_takes_out_and_evaporation_thickens() -> None:
    start: list[Past] = [Refill(None, 60 * 24.0), dichlor(20.0, 59 * 24.0)]
    soaks: list[Past] = [Soak(4, 60.0, 24.0 * day) for day in range(1, 50)]
    rested, soaked = look(TUB, start).books, look(TUB, [*start, *soaks]).books
    assert soaked.cya.likely < 0.85 * rested.cya.likely
    hard = replace(TUB, source=read({"ch": 200.0}, method="drops"))
    assert look(hard, start).books.hardness.likely == pytest.approx(200.0 * (1.0 + 0.003 * 60), rel=0.01)


def test_borate_and_calcium_are_booked() -> None:
    history = [Refill(None, 50.0), Addition({"calcium_chloride": 100.0, "boric_acid": 100.0}, 10.0)]
    books = look(TUB, history).books
    assert books.borate.likely == pytest.approx(100.0 / LITRES * 1000.0 * 10.811 / 61.83, rel=0.01)
    assert books.solids.likely > 100.0


def test_chlorine_that_cyanurate_binds_is_told_with_a_level_that_works() -> None:
    season = look(TUB, [Refill(None, 900.0), dichlor(45.0, 400.0), read({"fc": 3.0, "ph": 7.6}, 1.0, "drops")])
    told = {finding.code: finding.numbers for finding in season.findings}
    assert told["active_chlorine_low"]["aim"] > 3.0
    assert season.books.active < season.books.wanted
    fresh = look(TUB, [Refill(None, 900.0), read({"fc": 3.0, "ph": 7.6}, 1.0, "drops")])
    assert fresh.findings == ()


def test_cyanurate_findings_change_from_rising_to_high() -> None:
    rising = look(TUB, [Refill(None, 240.0), *(dichlor(4.0, 24.0 * day) for day in range(9))])
    high = look(TUB, [Refill(None, 480.0), *(dichlor(4.0, 24.0 * day) for day in range(16))])
    assert rising.findings[0].code == "cyanurate_rising"
    assert high.findings[0].code == "cyanurate_high"
    assert {"cyanurate_rising", "cyanurate_high"} <= set(FINDING_CODES)


# -- refills


def load(bathers: int, every: int, days: int = 60) -> list[Past]:
    return [Refill(None, 24.0 * days), *(Soak(bathers, 20.0, 24.0 * day) for day in range(1, days, every))]


def test_the_published_drain_interval_holds() -> None:
    """400 US gallons and two bathers a day: 66.7 days (Montana ARM 37.115, gallons / 3 / bathers a day)."""
    tub = Tub(volume=1514.0, refill_days=365.0)
    due = look(tub, load(2, 1)).refill
    assert due.code == "bather_load"
    assert due.numbers["days"] == pytest.approx(66.7, rel=0.12)


def test_who_bathes_more_changes_water_sooner_and_nobody_later_than_the_dealer_says() -> None:
    dues = [look(TUB, load(bathers, 1)).refill for bathers in (1, 2, 4)]
    assert dues[0].hours >= dues[1].hours >= dues[2].hours
    assert look(TUB, [Refill(None, 80 * 24.0)]).refill.hours <= 10 * 24.0


def test_solids_and_cyanurate_bring_the_refill_forward() -> None:
    salted = [Refill(None, 240.0), Addition({"calcium_chloride": 1600.0 * LITRES / 1000.0}, 10.0)]
    assert (look(TUB, salted).refill.code, look(TUB, salted).refill.hours) == ("solids", 0.0)
    bound = [Refill(None, 480.0), *(dichlor(4.0, 24.0 * day) for day in range(16))]
    assert look(TUB, bound).refill.code == "cyanurate"
    assert look(TUB, bound).refill.hours <= 0.0
    assert "cyanurate" in REFILL_CODES


def test_biofilm_and_a_local_code_count() -> None:
    filled: list[Past] = [Refill(None, 24.0)]
    assert look(replace(TUB, biofilm=True), filled).refill.code == "biofilm"
    local = look(replace(TUB, local_refill_days=14.0), filled).refill
    assert (local.code, local.hours) == ("local_rule", 13 * 24.0)
    assert [due.hours for due in local.others] == sorted(due.hours for due in local.others)


# -- tests


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 40), st.integers(2, 40), st.floats(0.0, 300.0))
def test_a_test_is_never_later_than_weekly(seed: int, days: int, later: float) -> None:
    history = lived(seed, days).history
    moved = [replace(event, hours_ago=event.hours_ago + later) for event in history]
    due = look(TUB, moved).test
    newest = min(e.hours_ago for e in moved if type(e).__name__ == "Reading")
    assert due.hours + newest <= 7 * 24.0 + 1e-6
    assert due.code in TEST_CODES


def good(hours_ago: float) -> Past:
    return read({"fc": 5.0, "ph": 7.5, "ta": 85.0}, hours_ago, "meter")


OLD = Refill(None, 40 * 24.0, read({"ta": 90.0, "ph": 7.5}, method="drops"))


def test_fresh_water_is_tested_on_days_1_2_4_and_7() -> None:
    for day, expected in ((0, 1), (1, 2), (2, 4), (4, 7)):
        due = look(TUB, [Refill(None, 24.0 * day + 2.0), good(1.0)]).test
        days = [one.numbers["day"] for one in (due, *due.others) if one.code == "first_week"]
        assert days == [expected]
        assert due.hours <= 24.0 * expected


def test_new_water_and_no_reading_ask_at_once() -> None:
    assert look(TUB, []).test.code == "nothing_read"
    assert look(TUB, [good(20.0), Refill(None, 2.0)]).test.code == "after_refill"


def test_a_party_asks_for_a_test_on_the_next_day() -> None:
    quiet, party = look(TUB, [OLD, good(30.0)]).test, look(TUB, [OLD, good(30.0), Soak(6, 90.0, 2.0)]).test
    assert (party.code, party.hours) == ("after_party", 14.0)
    assert quiet.hours > 24.0


def test_a_level_that_bathers_left_open_is_tested_the_next_day_and_not_while_they_are_wet() -> None:
    read_before, soak = good(30.0), Soak(3, 60.0, 2.0)
    due = look(TUB, [OLD, read_before, soak]).test
    assert (due.code, due.hours) == ("forecast_sanitizer", 14.0)
    known = look(TUB, [OLD, *(good(24.0 * day + 1.0) for day in range(38, 0, -4)), good(1.0), Soak(1, 15.0, 0.5)]).test
    assert known.hours > 24.0


def test_a_bad_reading_is_looked_at_again_within_two_days() -> None:
    due = look(TUB, [OLD, read({"fc": 0.5, "ph": 8.4, "ta": 80.0}, 1.0)]).test
    assert due.hours <= 48.0


def test_a_steady_tub_is_asked_no_more_than_twice_a_week() -> None:
    steady = [OLD, *(good(24.0 * day) for day in range(38, 0, -4)), good(1.0)]
    assert look(TUB, steady).test.hours >= 83.0


def test_a_tub_that_drifts_fast_is_asked_sooner_than_one_that_rests() -> None:
    calm = [OLD, *(good(24.0 * day) for day in range(35, 0, -5)), good(1.0)]
    soaks: list[Past] = [Soak(3, 90.0, 12.0 + 24.0 * day) for day in range(35)]
    assert look(TUB, [*calm, *soaks]).test.hours <= look(TUB, calm).test.hours


def test_while_they_are_away_nobody_bathes_in_the_forecast() -> None:
    soaks: list[Past] = [Soak(3, 60.0, 12.0 + 24.0 * day) for day in range(30)]
    doses = [chlorine(9.0, 11.0 + 24.0 * day) for day in range(30)]
    history = [OLD, *soaks, *doses, good(1.0), chlorine(4.0, 0.5)]
    home = look(TUB, history).forecast([20.0], follow_card=False)
    away = look(replace(TUB, away=Away(0.0, 240.0)), history).forecast([20.0], follow_card=False)
    assert float(away.likely["fc"][0]) > float(home.likely["fc"][0])


def test_a_local_limit_moves_the_range() -> None:
    strict = replace(TUB, limits=Limits(ph_fine=(7.3, 7.6)))
    history = [OLD, good(1.0)]
    assert float(look(strict, history).forecast([24.0]).fine["ph"][0]) < float(
        look(TUB, history).forecast([24.0]).fine["ph"][0]
    )


@pytest.mark.parametrize("bad", [{"volume": 0.0}, {"volume": 1000.0, "temperature": 80.0}])
def test_a_tub_that_cannot_be_is_refused(bad: dict[str, float]) -> None:
    with pytest.raises(ValueError, match="a tub"):
        Tub(**bad)


def test_a_holiday_that_ends_before_it_begins_is_refused() -> None:
    with pytest.raises(ValueError, match="ends after it begins"):
        Away(10.0, 5.0)

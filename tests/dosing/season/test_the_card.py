"""The routine between tests: enough, never too much, and in what the owner can measure."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from dosing import DEFAULT_KIT, Addition, Kit, Limits, Past, Soak
from dosing.season import Card, Season, Tub, look
from dosing.season.sanitizer import strength
from tests.dosing.season.journals import LITRES, TUB, chlorine, lived, read

LOSSES = (0.12, 0.2, 0.3, 0.45, 0.6)


def known_tub(loss: float, tub: Tub = TUB) -> Season:
    """A tub topped up to 7 each evening and tested before it for three weeks, read to a tenth; 5 just now."""
    left = 7.0 * (1.0 - loss)
    history: list[Past] = []
    for days in range(21, 0, -1):
        history += [read({"fc": round(left, 1)}, 24.0 * days + 1.0, "drops"), chlorine(7.0 - left, 24.0 * days)]
    return look(tub, [*history, read({"fc": 5.0}, 0.5)])


def card(season: Season) -> Card:
    assert season.card is not None
    return season.card


def test_the_more_a_tub_loses_the_more_a_day_its_card_gives() -> None:
    cards = [card(known_tub(loss)) for loss in LOSSES]
    days = [one.idle / one.idle_days for one in cards]
    assert all(less < more * 1.001 for less, more in pairwise(days))
    assert [one.idle_days for one in cards] == sorted((one.idle_days for one in cards), reverse=True)


@pytest.mark.parametrize("loss", LOSSES)
def test_followed_to_the_gram_the_card_keeps_a_resting_tub_in_range(loss: float) -> None:
    one = card(known_tub(loss))
    product = DEFAULT_KIT.named(one.product)
    assert product is not None
    rise, level, seen = one.idle * strength(TUB, product), 5.0, []
    for _ in range(40):
        level *= (1.0 - loss) ** one.idle_days
        seen.append(level)
        level += rise
        assert level <= 10.0
    assert min(seen[5:]) >= 2.8


@pytest.mark.parametrize("loss", LOSSES)
def test_one_forgotten_dose_leaves_sanitizer(loss: float) -> None:
    season = known_tub(loss)
    one = card(season)
    product = DEFAULT_KIT.named(one.product)
    assert product is not None
    peak = one.idle * strength(TUB, product) / (1.0 - (1.0 - loss) ** one.idle_days)
    assert peak * (1.0 - loss) ** (2 * one.idle_days) >= 1.0


@settings(max_examples=40, deadline=None)
@given(
    st.integers(0, 30), st.integers(3, 30), st.floats(300.0, 2500.0), st.sampled_from(["chlorine", "bromine"]),
    st.integers(0, 12), st.floats(0.0, 600.0),
)  # fmt: skip
def test_no_dose_of_a_card_can_pass_ten_with_no_loss_since_a_fine_test(
    seed: int, days: int, litres: float, sanitizer: str, people: int, minutes: float
) -> None:
    tub = Tub(volume=litres, sanitizer=sanitizer)  # type: ignore[arg-type]
    key = tub.key
    history = [*lived(seed, days).history, read({key: 5.0}, 1.0)]
    season = look(tub, history)
    one = season.card
    if one is None:
        return
    product = tub.kit.named(one.product)
    assert product is not None
    each = strength(tub, product)
    doses = [one.after_soak(people, minutes), one.idle, one.each_soak, one.before_holiday, one.after_holiday, one.most]
    doses += [now.grams for now in (season.dose(),) if now is not None and now.product == one.product]
    for grams in doses:
        assert 5.0 + grams * each <= 10.0 + 1e-6
        assert grams == pytest.approx(round(grams / one.step) * one.step, abs=0.011)
    after = season.dose(Soak(people, minutes, 0.0))
    if after is not None and after.product == one.product:
        taken = float(season.one.belief.level.demands(0.1)[0]) * people * minutes / 60.0
        assert max(0.0, 5.0 - taken) + after.grams * each <= 10.0 + 1e-6


def test_what_many_bathers_left_is_met_by_the_oxidiser_first_and_then_by_chlorine() -> None:
    party = Soak(6, 90.0, 0.2)
    before = [read({"fc": 4.0}, 1.0, "drops"), party]
    first = look(TUB, before).dose(party)
    assert first is not None
    assert (first.product, first.code) == ("monopersulfate", "oxidise")
    poured = Addition({"potassium_monopersulfate": first.grams * 0.8}, 0.0)
    then = look(TUB, [*before, poured]).dose(party)
    assert then is not None
    assert (then.product, then.code) == ("hypochlorite", "after_soak")
    none = replace(TUB, kit=DEFAULT_KIT.without("monopersulfate"))
    alone = look(none, before).dose(party)
    assert alone is not None
    assert alone.product == "hypochlorite"


def test_a_soak_that_the_journal_holds_already_is_not_counted_twice() -> None:
    soak = Soak(1, 20.0, 0.0)
    before = [read({"fc": 4.0}, 1.0, "drops")]
    told, asked = look(TUB, [*before, soak]).dose(soak), look(TUB, before).dose(soak)
    assert told is not None
    assert asked is not None
    assert told.grams == pytest.approx(asked.grams, rel=0.1)


def test_after_a_soak_more_people_and_more_time_never_ask_for_less() -> None:
    one = card(known_tub(0.3))
    doses = [one.after_soak(people, minutes) for people in range(6) for minutes in (0.0, 30.0, 60.0)]
    by_hours = sorted(zip([p * m for p in range(6) for m in (0.0, 30.0, 60.0)], doses, strict=True))
    assert [dose for _, dose in by_hours] == sorted(doses)
    assert one.after_soak(0, 0.0) == one.each_soak


def test_unstabilised_chlorine_is_chosen_where_the_kit_has_it() -> None:
    assert card(known_tub(0.3)).product == "hypochlorite"
    assert card(known_tub(0.3, replace(TUB, kit=DEFAULT_KIT.without("hypochlorite")))).product == "dichlor"


def test_dichlor_ends_where_cyanurate_is_too_high_or_barred() -> None:
    only = replace(TUB, kit=DEFAULT_KIT.without("hypochlorite"))
    assert known_tub(0.3, replace(only, limits=Limits(cyanurate_barred=True))).no_card == "no_product"
    grams = 52.0 * 255.97 / 129.07 * LITRES / 1000.0
    full = [Addition({"sodium_dichlor": grams}, 200.0), read({"fc": 5.0}, 0.5)]
    assert look(only, full).no_card == "no_product"


def test_a_bromine_tub_has_a_card_of_its_own() -> None:
    season = look(Tub(volume=1000.0, sanitizer="bromine"), [read({"br": 6.0}, 30.0), read({"br": 6.0}, 0.5)])
    assert card(season).idle > 0


@pytest.mark.parametrize(
    ("history", "code"),
    [
        ([], "no_reading"),
        ([read({"fc": 5.0}, 7 * 24.0 + 1.0)], "test_overdue"),
        ([read({"fc": 0.5}, 10.0)], "reading_not_fine"),
        ([read({"ph": 7.4}, 1.0)], "no_reading"),
    ],
)
def test_there_is_no_card_without_a_fine_and_recent_reading(history: list[Past], code: str) -> None:
    season = look(TUB, history)
    assert season.card is None
    assert season.no_card == code
    assert season.dose() is None


def test_a_low_reading_that_was_set_right_in_the_same_sitting_is_fine() -> None:
    assert look(TUB, [read({"fc": 0.5}, 10.0), chlorine(4.5, 9.5)]).card is not None


def test_without_a_kit_there_is_no_card() -> None:
    assert look(replace(TUB, kit=Kit()), [read({"fc": 5.0}, 1.0)]).no_card == "no_product"


def test_a_label_keeps_a_dose_small() -> None:
    bleach = DEFAULT_KIT.named("hypochlorite")
    assert bleach is not None
    kit = Kit((replace(bleach, label_max_g_per_1000l=20.0),))
    assert card(known_tub(0.6, replace(TUB, kit=kit))).most <= 20.0 * LITRES / 1000.0


def test_a_tub_that_is_full_waits() -> None:
    assert look(TUB, [read({"fc": 5.0}, 2.0, "drops"), chlorine(4.0, 1.0)]).dose() is None
    high = look(TUB, [read({"fc": 10.0}, 2.0)])
    assert high.dose() is None
    assert card(high).first_idle_hours > 12.0


def test_a_card_says_whether_it_asks_for_more_or_less_than_the_one_before() -> None:
    low, high = card(known_tub(0.2)), card(known_tub(0.5))
    assert high.against(low) == "more"
    assert low.against(high) == "less"
    assert low.against(low) == "as_before"
    assert low.against(None) == "first"


def test_the_dose_after_a_soak_grows_with_what_is_missing() -> None:
    season = look(TUB, [read({"fc": 4.0}, 1.0, "drops")])
    small, big = season.dose(Soak(1, 15.0, 0.0)), season.dose(Soak(2, 30.0, 0.0))
    assert big is not None
    assert small is None or small.grams <= big.grams
    assert big.predicted.high > big.level.high
    assert not math.isnan(big.grams)

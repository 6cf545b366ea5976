"""Who will soon run out of what: by what was poured since, never by a start-up, each tub and pack once."""

from dataclasses import replace
from datetime import timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st

from bot.desk.needs import Gathering, needs_csv, told
from bot.model.fact import Added, Fact, StartedUp
from bot.model.round import Candidate
from bot.model.trail import SupplySaid
from bot.schedule.supplies import WEEK, Supply, supplies_of
from bot.talk.words import Words, languages
from dosing import DEFAULT_KIT, Kit
from tests.store.samples import ADA, BO, CEDAR, NOON, NORTH, entry

PACKED = Kit(tuple(replace(one, pack_g=500.0 if one.key == "dichlor" else None) for one in DEFAULT_KIT.products))
SHOP = NORTH.model_copy(update={"kit": PACKED})
OFFERED = SupplySaid(product="dichlor", what="offered", number=1)


def poured(grams: float, product: str = "dichlor") -> Added:
    return Added(product=product, grams=grams, substances={"sodium_dichlor": grams})


def supplies(*past: tuple[float, Fact], kit: Kit | None = None) -> list[Supply]:
    """By these facts so many days ago."""
    journal = tuple(entry(f"e{n}", fact, at=NOON - timedelta(days=days)) for n, (days, fact) in enumerate(past))
    return supplies_of(CEDAR.model_copy(update={"kit": kit}), SHOP, sorted(journal, key=lambda one: one.at), NOON)


STEADY = [(float(days), poured(50)) for days in range(56, 0, -7)]


def test_what_is_left_and_how_long_it_lasts_follow_from_what_was_poured() -> None:
    [one] = supplies(*STEADY)
    assert (one.left, one.a_week, one.number) == (100, 50, 1)
    assert one.runs_out == NOON + 2 * WEEK
    assert one.packs == 1


def test_a_start_up_uses_the_pack_up_but_tells_nothing_of_the_weeks_to_come() -> None:
    [one] = supplies((15, poured(200)), (14, StartedUp()), *((float(day), poured(20)) for day in (10, 6, 2)))
    assert (one.left, one.a_week) == (240, 30)


@pytest.mark.parametrize(
    "past",
    [
        [],
        STEADY[:2],
        [(3.0, poured(20))] * 5,
        [(days + 60, fact) for days, fact in STEADY],
        [(days, poured(10, "bisulfate")) for days, _ in STEADY],
        [(days, poured(10, "something else")) for days, _ in STEADY],
    ],
    ids=["nothing", "twice", "one day", "long ago", "no pack size", "not sold here"],
)
def test_without_steady_use_of_a_packed_product_nothing_is_foreseen(past: list[tuple[float, Fact]]) -> None:
    assert supplies(*past) == []


def test_the_owner_s_own_kit_is_not_the_shop_s() -> None:
    assert supplies(*STEADY, kit=DEFAULT_KIT) == []


def test_a_second_pack_counts_when_the_first_is_used_up_or_when_its_owner_tells_of_it() -> None:
    [used_up] = supplies(*STEADY, *((days + 0.5, fact) for days, fact in STEADY[:4]))
    assert (used_up.number, used_up.left) == (2, 400)
    [told_of] = supplies(*STEADY, (0.5, OFFERED), (0.4, SupplySaid(product="dichlor", what="more", number=2)))
    assert (told_of.number, told_of.left, told_of.offered) == (2, 600, False)


def test_an_offer_counts_for_its_pack_alone() -> None:
    wanted = SupplySaid(product="dichlor", what="wanted", number=1)
    [one] = supplies(*STEADY, (0.5, OFFERED), (0.4, wanted))
    assert one.offered
    assert one.wanted
    [next_pack] = supplies(*STEADY, (0.5, OFFERED), (0.4, wanted), (0.3, poured(200)))
    assert not next_pack.offered
    assert not next_pack.wanted


@given(st.lists(st.tuples(st.floats(0.1, 400), st.floats(0.1, 900)), max_size=40), st.integers(0, 5))
def test_what_is_left_lies_between_nothing_and_what_was_had(past: list[tuple[float, float]], more: int) -> None:
    said = [(0.05, SupplySaid(product="dichlor", what="more", number=n + 2)) for n in range(more)]
    for one in supplies(*((days, poured(grams)) for days, grams in past), *said):
        assert -1e-6 <= one.left <= one.number * one.pack
        assert one.a_week > 0
        assert one.runs_out >= NOON - timedelta(seconds=1)


def gathered(*people: Candidate, weeks: int = 4) -> Gathering:
    gathering = Gathering(SHOP, NOON, weeks)
    gathering.add(people)
    return gathering


def using(person: object = ADA, **more: object) -> Candidate:
    journal = tuple(entry(f"e{n}", fact, at=NOON - timedelta(days=days)) for n, (days, fact) in enumerate(STEADY))
    return Candidate(**{"person": person, "tub": CEDAR, "journal": journal, **more})  # type: ignore[arg-type]


def test_a_tub_of_several_people_is_on_the_list_once_and_only_where_it_runs_out_in_time() -> None:
    assert [one.person for one in gathered(using(), using(BO)).needs()] == [ADA]
    assert gathered(using(), weeks=1).needs() == []
    assert gathered(using(tub=None), using(journal=())).needs() == []


@pytest.mark.parametrize("language", languages())
def test_the_list_is_told_in_every_language_and_harmless_in_a_spreadsheet(language: str) -> None:
    words = Words(language)
    needs = gathered(using(ADA.model_copy(update={"name": "=1+1", "phones": ("+15125550101",)}))).needs()
    assert "1" in words.text(told(needs, SHOP, 4))
    table = needs_csv(needs, words).decode("utf-8-sig")
    assert ",'=1+1," in table
    assert ",100,50,500\r\n" in table
    assert words.text(told([], SHOP, 1)) != words.text(told([], NORTH, 1))

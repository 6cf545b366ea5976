import logging

import pytest

from bot.model.event import Fell
from bot.model.known import Outcome
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, settle, take
from tests.store.samples import NOON, due, later, message


async def set_dues(store: Store, *dues, update: str = "set") -> None:
    await settle(store, update, Outcome(set_dues=dues))


async def fallen(store: Store, at) -> list[str]:
    """Ripen, and return what falls, in order."""
    await store.ripen(at)
    names = []
    while (taken := await store.take(at)) is not None:
        assert isinstance(taken.arrival.event, Fell)
        names.append(taken.arrival.event.due)
        await store.settle(taken, await store.known(taken.arrival), Outcome(), at)
    return names


class DuesContract(StoreRooms):
    async def test_what_is_due_falls_once_at_its_time_and_not_before(self, store: Store):
        await set_dues(store, due("d", later(hours=1)))
        assert await fallen(store, later(minutes=59)) == []
        assert await fallen(store, later(hours=1)) == ["d"]
        assert await fallen(store, later(days=1)) == []

    async def test_it_arrives_at_its_person_with_the_time_it_was_planned_for(self, store: Store):
        await set_dues(store, due("d", later(hours=1), person="bo", tub="birch", what="rinse"))
        assert await store.ripen(later(hours=3)) == 1
        taken, _ = await take(store)
        assert taken.arrival.address.chat == "2"
        assert taken.arrival.at == later(hours=3)
        assert taken.arrival.event == Fell(due="d", what="rinse", planned=later(hours=1))

    async def test_setting_it_again_moves_it(self, store: Store):
        await set_dues(store, due("d", later(hours=1)))
        await set_dues(store, due("d", later(hours=5)), update="again")
        assert await fallen(store, later(hours=2)) == []
        assert await fallen(store, later(hours=5)) == ["d"]

    async def test_what_was_cancelled_never_falls(self, store: Store):
        await set_dues(store, due("d", later(hours=1)), due("e", later(hours=1)))
        await settle(store, "cancel", Outcome(cancel_dues=("d", "unheard of")))
        assert await fallen(store, later(days=1)) == ["e"]

    async def test_cancelled_and_set_in_one_outcome_is_set(self, store: Store):
        await set_dues(store, due("d", later(hours=1)))
        await settle(store, "both", Outcome(cancel_dues=("d",), set_dues=(due("d", later(hours=2)),)))
        assert await fallen(store, later(days=1)) == ["d"]

    async def test_a_reminder_may_fall_again_and_again_under_the_same_key(self, store: Store):
        for day in (1, 2, 3):
            await set_dues(store, due("d", later(days=day)), update=f"set {day}")
            assert await fallen(store, later(days=day)) == ["d"]

    async def test_after_an_outage_the_oldest_fall_first_a_bounded_number_at_a_time(self, store: Store):
        await set_dues(store, *(due(f"d{n}", later(hours=-n)) for n in range(5)))
        assert await store.ripen(NOON, limit=2) == 2
        assert await store.ripen(NOON, limit=2) == 2
        assert await store.ripen(NOON, limit=2) == 1
        assert await fallen(store, NOON) == ["d4", "d3", "d2", "d1", "d0"]

    async def test_one_without_an_address_is_dropped_with_a_word_in_the_log(
        self, store: Store, caplog: pytest.LogCaptureFixture
    ):
        await set_dues(store, due("d", NOON, person="flo", tub=None))
        with caplog.at_level(logging.WARNING):
            assert await fallen(store, NOON) == []
        assert "without an address" in caplog.text
        assert await store.next_moment() is None

    async def test_the_next_moment_is_the_soonest_of_what_ripens_and_what_is_held_back(self, store: Store):
        assert await store.next_moment() is None
        await set_dues(store, due("d", later(hours=2)), due("e", later(hours=1)))
        assert await store.next_moment() == later(hours=1)
        assert await store.next_moment(after=later(hours=1)) == later(hours=2)
        assert await store.next_moment(after=later(hours=2)) is None

    async def test_a_message_that_waits_for_nothing_is_no_moment_to_wait_for(self, store: Store):
        await settle(store, "1", Outcome(messages=(message("x"),)))
        assert await store.next_moment(after=NOON) is None

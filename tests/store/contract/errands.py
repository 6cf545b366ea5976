"""Errands: asked for with what a conversation settles, run by one at a time, their results in the inbox."""

from bot.model.errand import Errand
from bot.model.event import Returned
from bot.model.known import Outcome
from bot.store.contract import Run, Store
from tests.store.contract.rooms import StoreRooms, settle, take
from tests.store.samples import NOON, later

LEASE = 60.0


def errand(key: str, person: str = "ada") -> Errand:
    return Errand(key=key, dealer="north", person=person, kind="look", what="look.0", args={"file": key})


def result(run: Run, value: object = 1) -> Returned:
    return Returned(errand=run.errand.key, what=run.errand.what, result=value)


class ErrandsContract(StoreRooms):
    async def test_what_is_asked_for_is_run_once_and_oldest_first(self, store: Store):
        await settle(store, "u1", Outcome(errands=(errand("e1"), errand("e2"))))
        await settle(store, "u2", Outcome(errands=(errand("e1"),)))
        first = await store.take_errand(NOON, LEASE)
        second = await store.take_errand(NOON, LEASE)
        assert [run.errand for run in (first, second) if run] == [errand("e1"), errand("e2")]
        assert await store.take_errand(NOON, LEASE) is None

    async def test_a_result_is_an_arrival_of_whoever_asked_and_comes_once(self, store: Store):
        await settle(store, "u1", Outcome(errands=(errand("e1"),)))
        run = await store.take_errand(NOON, LEASE)
        assert run is not None
        await store.finish_errand(run, result(run, {"new": 3}), NOON)
        await store.finish_errand(run, result(run, {"new": 4}), NOON)
        taken, known = await take(store)
        assert taken.arrival.event == result(run, {"new": 3})
        assert known.person is not None
        assert known.person.key == "ada"
        await store.settle(taken, known, Outcome(), NOON)
        assert await store.take(NOON) is None
        assert await store.take_errand(later(days=1), LEASE) is None

    async def test_one_that_was_not_finished_is_run_again_and_the_late_result_counts_for_nothing(self, store: Store):
        await settle(store, "u1", Outcome(errands=(errand("e1"),)))
        slow = await store.take_errand(NOON, LEASE)
        again = await store.take_errand(later(seconds=LEASE + 1), LEASE)
        assert slow is not None
        assert again is not None
        assert (slow.attempts, again.attempts) == (1, 2)
        await store.finish_errand(slow, result(slow, "late"), NOON)
        await store.finish_errand(again, result(again, "right"), NOON)
        taken, _ = await take(store)
        assert taken.arrival.event == result(again, "right")

    async def test_those_of_a_dealer_that_is_elsewhere_are_left(self, store: Store):
        await settle(store, "u1", Outcome(errands=(errand("e1"),)))
        assert await store.take_errand(NOON, LEASE, ["north"]) is None
        assert await store.take_errand(NOON, LEASE, ["south"]) is not None

    async def test_one_that_is_to_be_retried_is_free_at_once(self, store: Store):
        await settle(store, "u1", Outcome(errands=(errand("e1"),)))
        run = await store.take_errand(NOON, LEASE)
        assert run is not None
        await store.retry_errand(run)
        assert await store.take_errand(NOON, LEASE) is not None

    async def test_a_result_for_somebody_without_a_chat_goes_nowhere(self, store: Store):
        await settle(store, "u1", Outcome(errands=(errand("e1", "flo"),)))
        run = await store.take_errand(NOON, LEASE)
        assert run is not None
        await store.finish_errand(run, result(run), NOON)
        assert await store.take(NOON) is None

    async def test_erasing_somebody_ends_their_errands(self, store: Store):
        await settle(store, "u1", Outcome(errands=(errand("e1"),)))
        await settle(store, "u2", Outcome(erase=("ada",)))
        assert await store.take_errand(NOON, LEASE) is None

from bot.model.known import Outcome
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, settle
from tests.store.samples import BO, CHANNEL, NOON, later, message, wrote


class LeasesContract(StoreRooms):
    async def test_one_holder_at_a_time_until_its_time_is_over(self, store: Store):
        assert await store.hold("north", CHANNEL, "one", NOON, 10)
        assert not await store.hold("north", CHANNEL, "two", later(seconds=9), 10)
        assert await store.hold("north", CHANNEL, "one", later(seconds=9), 10)
        assert not await store.hold("north", CHANNEL, "two", later(seconds=18), 10)
        assert await store.hold("north", CHANNEL, "two", later(seconds=19), 10)
        assert not await store.hold("north", CHANNEL, "one", later(seconds=20), 10)

    async def test_a_lease_let_go_is_free_at_once(self, store: Store):
        assert await store.hold("north", CHANNEL, "one", NOON, 10)
        await store.let_go("one")
        assert await store.hold("north", CHANNEL, "two", NOON, 10)

    async def test_every_dealer_and_every_channel_has_its_own(self, store: Store):
        assert await store.hold("north", CHANNEL, "one", NOON, 10)
        assert await store.hold("south", CHANNEL, "two", NOON, 10)
        assert await store.hold("north", "other", "two", NOON, 10)

    async def test_whoever_takes_over_finds_free_and_in_doubt_what_the_other_was_sending(self, store: Store):
        await settle(store, "1", Outcome(messages=(message("a"), message("b", to="bo"))))
        await store.hold("north", CHANNEL, "one", NOON, 10)
        assert len(await store.next_parcels(CHANNEL, NOON, 2, dealer="north")) == 2
        await store.hold("north", CHANNEL, "one", later(seconds=5), 10)
        assert await store.next_parcels(CHANNEL, later(seconds=5), 2, dealer="north") == []
        await store.hold("north", CHANNEL, "two", later(seconds=16), 10)
        again = await store.next_parcels(CHANNEL, later(seconds=16), 2, dealer="north")
        assert [(parcel.message.text, parcel.doubts) for parcel in again] == [("a", 1), ("b", 1)]

    async def test_after_a_restart_no_lease_of_an_earlier_run_is_in_the_way(self, store: Store):
        await store.hold("north", CHANNEL, "one", NOON, 10)
        await store.take_over()
        assert await store.hold("north", CHANNEL, "two", NOON, 10)

    async def test_a_dealer_s_parcels_leave_through_that_dealer_alone(self, store: Store):
        await store.put("south", [BO.model_copy(update={"dealer": "south", "key": "sue"})], [], [])
        await settle(store, "1", Outcome(messages=(message("north"),)))
        await store.receive(wrote("s", at="2", dealer="south"))
        taken = await store.take(NOON)
        assert taken is not None
        outcome = Outcome(messages=(message("south", to="sue"),))
        await store.settle(taken, await store.known(taken.arrival), outcome, NOON)
        for dealer in ("south", "north"):
            parcels = await store.next_parcels(CHANNEL, NOON, 10, dealer=dealer)
            assert [parcel.message.text for parcel in parcels] == [dealer]

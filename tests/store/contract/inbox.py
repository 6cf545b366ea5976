from datetime import datetime, timedelta

import pytest

from bot.model.event import Arrival, Began, File, Sent, Tapped, Wrote
from bot.model.known import Outcome
from bot.store.contract import Lost, Store
from bot.store.sql.inbox import MOST_WAITING
from tests.store.contract.rooms import StoreRooms, take, texts
from tests.store.samples import NOON, arrival, later, message, wrote


def photo(update: str, caption: str = "", *, album: str = "a", at: str = "1", rests: datetime | None = None) -> Arrival:
    event = Sent(files=(File(what="photo", reference=update),), caption=caption, album=album)
    return arrival(update, event, at=at).model_copy(update={"rests_until": rests})


class InboxContract(StoreRooms):
    async def test_an_update_that_arrives_twice_is_one_update(self, store: Store):
        assert await store.receive(wrote("7"))
        assert not await store.receive(wrote("7"))
        await take(store)
        assert await store.take(later(days=1), lease_seconds=1) is not None  # the same one, its lease over
        assert await store.take(later(days=1)) is None

    async def test_an_update_handled_long_ago_is_still_known(self, store: Store):
        await store.receive(wrote("7"))
        taken, known = await take(store)
        await store.settle(taken, known, Outcome(), NOON)
        assert not await store.receive(wrote("7"))

    async def test_two_dealers_may_see_the_same_update_number(self, store: Store):
        assert await store.receive(wrote("7"))
        assert await store.receive(wrote("7", dealer="south"))
        assert {(await take(store))[0].arrival.dealer for _ in range(2)} == {"north", "south"}

    async def test_an_arrival_comes_out_as_it_went_in(self, store: Store):
        sent = wrote("7", "pH 7,4 \N{BATHTUB}").model_copy(update={"language": "fr"})
        await store.receive(sent)
        assert (await take(store))[0].arrival == sent

    async def test_numbers_beyond_32_and_53_bits_stay_whole(self, store: Store):
        sent = arrival(str(2**63 - 1), Wrote(text="x"), at=f"-100{2**52 + 1}")
        await store.receive(sent)
        assert (await take(store))[0].arrival == sent

    async def test_an_update_that_could_not_be_read_is_kept_but_never_taken(self, store: Store):
        assert await store.receive(arrival("7", None))
        assert not await store.receive(arrival("7", None))
        assert await store.take(NOON) is None
        await store.receive(wrote("8"))
        assert (await take(store))[0].arrival.update == "8"

    async def test_texts_of_a_chat_that_brings_more_than_is_worked_off_wait_as_one(self, store: Store):
        for number in range(MOST_WAITING + 3):
            assert await store.receive(wrote(str(number), f"n{number}"))
        assert await store.receive(wrote("other", at="2"))
        assert (await store.stock(NOON)).inbox == MOST_WAITING + 1
        assert not await store.receive(wrote(str(MOST_WAITING - 1)))
        said = []
        for _ in range(MOST_WAITING + 1):
            taken, known = await take(store)
            assert isinstance(taken.arrival.event, Wrote)
            said.append(taken.arrival.event.text)
            await store.settle(taken, known, Outcome(), NOON)
        last = "\n".join(f"n{number}" for number in range(MOST_WAITING - 1, MOST_WAITING + 3))
        assert sorted(said) == sorted([*(f"n{number}" for number in range(MOST_WAITING - 1)), last, "hello"])

    async def test_what_is_no_text_is_never_added_to_one(self, store: Store):
        for number in range(MOST_WAITING):
            await store.receive(wrote(str(number)))
        edited = Wrote(text="x", edited=True)
        for update, event in {"tap": Tapped(data="1"), "edit": edited, "began": Began()}.items():
            assert await store.receive(arrival(update, event))
        assert (await store.stock(NOON)).inbox == MOST_WAITING + 3

    async def test_parts_of_an_album_that_wait_are_one_event_however_often_each_comes(self, store: Store):
        for update, caption in (("1", ""), ("2", "three views"), ("3", "x")):
            assert await store.receive(photo(update, caption))
        for update in ("2", "1", "3"):
            assert not await store.receive(photo(update))
        await store.receive(photo("4", album="b"))
        await store.receive(photo("5", at="2"))
        taken, known = await take(store)
        assert isinstance(taken.arrival.event, Sent)
        assert [file.reference for file in taken.arrival.event.files] == ["1", "2", "3"]
        assert taken.arrival.event.caption == "three views"
        await store.settle(taken, known, Outcome(), NOON)
        assert not await store.receive(photo("2"))
        assert {(await take(store))[0].arrival.update for _ in range(2)} == {"4", "5"}

    async def test_a_part_that_comes_while_its_album_is_handled_is_an_event_of_its_own(self, store: Store):
        await store.receive(photo("1"))
        taken, known = await take(store)
        assert await store.receive(photo("2"))
        assert taken.arrival == photo("1")
        await store.settle(taken, known, Outcome(), NOON)
        assert (await take(store))[0].arrival == photo("2")

    async def test_photos_that_are_no_album_stay_for_themselves(self, store: Store):
        for update in "12":
            await store.receive(photo(update, album=""))
        assert (await store.stock(NOON)).inbox == 2

    async def test_what_rests_is_left_alone_until_then_and_each_part_lets_it_rest_anew(self, store: Store):
        await store.receive(photo("1", rests=NOON + timedelta(seconds=1)))
        assert await store.take(NOON) is None
        await store.receive(photo("2", rests=NOON + timedelta(seconds=2)))
        assert await store.take(NOON + timedelta(seconds=1.5)) is None
        taken = await store.take(NOON + timedelta(seconds=2))
        assert taken is not None
        assert taken.claims == 1

    async def test_an_arrival_whose_turn_has_not_come_is_free_again_then_and_was_never_tried(self, store: Store):
        await store.receive(wrote("1"))
        await store.receive(wrote("2", at="2"))
        taken, _ = await take(store)
        await store.postpone(taken, later(minutes=5))
        other = await store.take(NOON, lease_seconds=600)
        assert other is not None
        assert other.arrival.update == "2"
        assert await store.take(later(minutes=4)) is None
        again = await store.take(later(minutes=5), lease_seconds=600)
        assert again is not None
        assert (again.arrival.update, again.claims, again.attempts) == ("1", 1, 0)
        with pytest.raises(Lost):
            await store.postpone(taken._replace(claims=7), later(minutes=9))

    async def test_one_at_a_time_within_a_chat_while_other_chats_go_on(self, store: Store):
        for update, at in (("1", "1"), ("2", "1"), ("3", "2")):
            await store.receive(wrote(update, at=at))
        first, known = await take(store)
        other, _ = await take(store)
        assert (first.arrival.update, other.arrival.update) == ("1", "3")
        assert await store.take(NOON) is None
        await store.settle(first, known, Outcome(), NOON)
        assert (await take(store))[0].arrival.update == "2"

    async def test_a_lease_that_ran_out_gives_the_arrival_to_somebody_else_alone(self, store: Store):
        await store.receive(wrote("1"))
        slow, known = await take(store)
        quick = await store.take(later(minutes=2))
        assert quick is not None
        assert quick.claims == 2
        with pytest.raises(Lost):
            await store.settle(slow, known, Outcome(messages=(message("slow"),)), later(minutes=2))
        with pytest.raises(Lost):
            await store.give_up(slow, "late", later(minutes=2), final=True)
        await store.settle(quick, known, Outcome(messages=(message("quick"),)), later(minutes=2))
        assert await texts(store) == ["quick"]

    async def test_taking_over_frees_at_once_what_an_earlier_run_had_taken(self, store: Store):
        await store.receive(wrote("1"))
        await take(store)
        assert await store.take(NOON) is None
        await store.take_over()
        assert (await take(store))[0].arrival.update == "1"

    async def test_what_failed_is_tried_again_before_the_next_of_its_chat(self, store: Store):
        await store.receive(wrote("1"))
        await store.receive(wrote("2"))
        taken, _ = await take(store)
        await store.give_up(taken, "no luck", NOON, final=False)
        again, _ = await take(store)
        assert (again.arrival.update, again.attempts) == ("1", 1)

    async def test_what_is_given_up_for_good_makes_room_for_the_next(self, store: Store):
        await store.receive(wrote("1"))
        await store.receive(wrote("2"))
        taken, _ = await take(store)
        await store.give_up(taken, "no luck", NOON, final=True)
        assert (await take(store))[0].arrival.update == "2"

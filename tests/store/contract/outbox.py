from bot.model.fact import CaseCleared, CaseOpened
from bot.model.known import Outcome
from bot.model.message import Delivered, Dose, Lane, Parcel, Refusal
from bot.store.contract import Store
from tests.store.contract.rooms import StoreRooms, settle, texts
from tests.store.samples import ADA, BO, CHANNEL, NOON, chat, entry, later, message, wrote

LATER = Refusal(kind="later", why="too fast", seconds=60)


async def post(store: Store, *letters: tuple[str, str, Lane]) -> None:
    """Put (text, person, lane) in the outbox, in order."""
    outgoing = tuple(message(text, to=to, lane=lane) for text, to, lane in letters)
    await settle(store, f"post {letters}", Outcome(messages=outgoing))


async def first(store: Store, at=NOON) -> Parcel:
    (parcel,) = await store.next_parcels(CHANNEL, at, 1)
    return parcel


class OutboxContract(StoreRooms):
    async def test_an_unasked_message_comes_with_its_reader_as_they_are_when_it_leaves(self, store: Store):
        unasked = message("m", lane="reminder"), message("n", lane="bulk").model_copy(update={"keeps_quiet": True})
        await settle(store, "1", Outcome(messages=(message("r"), *unasked)))
        stopped = ADA.model_copy(update={"standing": "stopped"})
        await store.put("north", [stopped], [], [])
        readers = []
        while parcels := await store.next_parcels(CHANNEL, NOON, 1):
            readers.append(parcels[0].reader)
            await store.delivered(parcels[0], Delivered(), NOON)
        assert readers == [None, stopped, stopped]

    async def test_a_dose_is_withheld_while_a_danger_is_open_at_a_tub_of_its_reader(self, store: Store):
        dose = Dose(product="p", grams=9, substances={})
        doses = tuple(message(to, to=to).model_copy(update={"dose": dose}) for to in ("ada", "bo"))
        await settle(store, "1", Outcome(messages=doses))

        async def withheld() -> dict[str, bool]:
            parcels = await store.next_parcels(CHANNEL, NOON, 9, lease_seconds=0)
            return {parcel.message.to: parcel.withheld for parcel in parcels}

        assert await withheld() == {"ada": False, "bo": False}
        await store.write([entry("q", CaseOpened(case="q", klass="question", reasons=()))])
        assert await withheld() == {"ada": False, "bo": False}
        await store.write([entry("d", CaseOpened(case="d", klass="danger", reasons=()), person="tom")])
        assert await withheld() == {"ada": True, "bo": False}
        await store.write([entry("over", CaseCleared(case="d", by="staff"))])
        assert await withheld() == {"ada": False, "bo": False}

    async def test_lanes_leave_in_their_order_and_each_by_age(self, store: Store):
        await post(store, ("b", "ada", "bulk"), ("m", "bo", "reminder"), ("a", "tom", "alert"), ("r", "ada", "reply"))
        parcels = await store.next_parcels(CHANNEL, NOON, 10)
        assert [parcel.message.text for parcel in parcels] == ["r", "a", "m"]  # Ada's other one waits for the first
        for parcel in parcels:
            await store.delivered(parcel, Delivered(), NOON)
        assert await texts(store) == ["b"]

    async def test_within_a_chat_a_reply_overtakes_reminders_and_bulk_and_nothing_else_overtakes(self, store: Store):
        await post(
            store,
            ("m1", "ada", "reminder"),
            ("b1", "ada", "bulk"),
            ("m2", "ada", "reminder"),
            ("r1", "ada", "reply"),
            ("a1", "ada", "alert"),
            ("r2", "ada", "reply"),
        )
        assert await texts(store) == ["r1", "a1", "r2", "m1", "b1", "m2"]

    async def test_one_parcel_of_a_chat_at_a_time(self, store: Store):
        await post(store, ("m", "ada", "reminder"))
        reminder = await first(store)
        await post(store, ("r1", "ada", "reply"), ("r2", "ada", "reply"))
        assert await store.next_parcels(CHANNEL, NOON, 10) == []
        await store.delivered(reminder, Delivered(), NOON)
        assert [parcel.message.text for parcel in await store.next_parcels(CHANNEL, NOON, 10)] == ["r1"]

    async def test_what_is_held_back_holds_back_what_may_not_overtake_it(self, store: Store):
        await post(store, ("r1", "ada", "reply"), ("m", "ada", "reminder"), ("r2", "ada", "reply"), ("x", "bo", "bulk"))
        await store.refused(await first(store), LATER, NOON, again_at=later(minutes=1))
        assert await texts(store) == ["x"]
        assert await store.next_moment(after=NOON) == later(minutes=1)
        again = await first(store, later(minutes=1))
        assert (again.message.text, again.attempts, again.doubts) == ("r1", 2, 0)
        await store.delivered(again, Delivered(), later(minutes=1))
        assert await texts(store) == ["r2", "m"]

    async def test_a_held_back_reminder_lets_a_reply_pass(self, store: Store):
        await post(store, ("m1", "ada", "reminder"))
        await store.refused(await first(store), LATER, NOON, again_at=later(minutes=1))
        await post(store, ("m2", "ada", "reminder"), ("r", "ada", "reply"))
        assert await texts(store) == ["r"]

    async def test_a_pause_of_the_token_holds_back_all_of_its_dealer_only(self, store: Store):
        south = BO.model_copy(update={"dealer": "south", "key": "sue"})
        await store.put("south", [south], [], [])
        await post(store, ("1", "ada", "reply"), ("2", "bo", "reply"))
        stop = LATER.model_copy(update={"everyone": True})
        await store.refused(await first(store), stop, NOON, again_at=later(minutes=1))
        assert await store.next_parcels(CHANNEL, NOON, 10) == []
        assert await store.next_moment(after=NOON) == later(minutes=1)
        await store.receive(wrote("s", at="2", dealer="south"))
        taken = await store.take(NOON)
        assert taken is not None
        await store.settle(taken, await store.known(taken.arrival), Outcome(messages=(message("3", to="sue"),)), NOON)
        assert await texts(store) == ["3"]
        assert len(await store.next_parcels(CHANNEL, later(minutes=1), 10)) == 2

    async def test_a_refusal_for_good_makes_room_for_the_next(self, store: Store):
        await post(store, ("r1", "ada", "reply"), ("r2", "ada", "reply"))
        await store.refused(await first(store), Refusal(kind="bad", why="empty"), NOON, again_at=None)
        assert await texts(store) == ["r2"]

    async def test_a_blocked_chat_is_closed_and_the_others_go_on(self, store: Store):
        await post(store, ("r1", "ada", "reply"), ("m", "ada", "reminder"), ("x", "bo", "reply"))
        await store.refused(await first(store), Refusal(kind="blocked", why="blocked"), NOON, again_at=None)
        assert await texts(store) == ["x"]
        blocked = await store.person_at("north", chat("1"))
        assert blocked == ADA.model_copy(update={"standing": "blocked"})

    async def test_a_chat_that_moved_takes_everything_along(self, store: Store):
        await post(store, ("r1", "ada", "reply"), ("r2", "ada", "reply"), ("m", "ada", "reminder"))
        await store.receive(wrote("waits"))
        await store.refused(await first(store), Refusal(kind="moved", why="moved", chat="-1001"), NOON, again_at=NOON)
        assert await store.person_at("north", chat("1")) is None
        assert await store.person_at("north", chat("-1001")) == ADA.model_copy(update={"address": chat("-1001")})
        parcel = await first(store)
        assert parcel.address == chat("-1001")
        await store.delivered(parcel, Delivered(), NOON)
        assert await texts(store) == ["r2", "m"]
        taken = await store.take(NOON)
        assert taken is not None
        assert taken.arrival.address == chat("-1001")
        await store.settle(taken, await store.known(taken.arrival), Outcome(entries=(entry("e"),)), NOON)

    async def test_a_chat_that_moved_onto_waiting_parcels_is_one_queue_by_age(self, store: Store):
        await post(store, ("r1", "ada", "reply"), ("r2", "ada", "reply"))
        elsewhere = Outcome(messages=(message("n1", to="", address=chat("-1001")),))
        await settle(store, "new", elsewhere, at="55")
        old = await first(store)
        await store.refused(old, Refusal(kind="moved", why="moved", chat="-1001"), NOON, again_at=NOON)
        assert await texts(store) == ["r1", "r2", "n1"]

    async def test_an_attempt_whose_process_died_may_have_arrived(self, store: Store):
        await post(store, ("r", "ada", "reply"))
        assert (await first(store)).doubts == 0
        assert await store.next_parcels(CHANNEL, later(seconds=59), 1) == []
        again = await first(store, later(seconds=61))
        assert (again.doubts, again.attempts) == (1, 2)

    async def test_after_a_restart_it_need_not_be_waited_for(self, store: Store):
        await post(store, ("r", "ada", "reply"))
        await first(store)
        await store.take_over()
        assert (await first(store)).doubts == 1

    async def test_an_answer_that_never_came_counts_as_a_doubt(self, store: Store):
        await post(store, ("r", "ada", "reply"))
        await store.refused(await first(store), Refusal(kind="unknown", why="no answer"), NOON, again_at=NOON)
        assert (await first(store)).doubts == 1

    async def test_a_refusal_that_comes_after_the_lease_has_run_out_changes_nothing(self, store: Store):
        await post(store, ("r", "ada", "reply"))
        slow = await first(store)
        await first(store, later(minutes=2))
        await store.refused(slow, LATER, later(minutes=2), again_at=later(minutes=2))
        assert await store.next_parcels(CHANNEL, later(minutes=2, seconds=30), 1) == []  # the other still sends it

    async def test_busy_chats_are_left_alone(self, store: Store):
        await post(store, ("1", "ada", "reply"), ("2", "bo", "reply"))
        parcels = await store.next_parcels(CHANNEL, NOON, 1, frozenset({chat("1")}))
        assert [parcel.message.text for parcel in parcels] == ["2"]

    async def test_each_channel_has_its_own_parcels(self, store: Store):
        await post(store, ("1", "ada", "reply"))
        assert await store.next_parcels("terminal", NOON, 10) == []

    async def test_a_parcel_comes_out_as_it_went_in(self, store: Store):
        sent = message("pH 7,4 \N{BATHTUB}").model_copy(update={"asks": "ph", "wait_minutes": 30})
        await settle(store, "1", Outcome(messages=(sent,)))
        parcel = await first(store)
        assert (parcel.message, parcel.dealer, parcel.at) == (sent, "north", NOON)

    async def test_depths_count_what_waits_by_lane(self, store: Store):
        await post(store, ("1", "ada", "reply"), ("2", "ada", "bulk"), ("3", "bo", "bulk"))
        await store.delivered(await first(store), Delivered(reference="77"), NOON)
        assert await store.depths() == {"reply": 0, "alert": 0, "reminder": 0, "bulk": 2}

from datetime import date

import pytest

from bot.model.fact import CartridgeChanged, Corrected, Filled, ReadingTaken
from bot.model.known import Outcome
from bot.model.message import Delivered, Message, Refusal
from bot.model.round import Candidate, Chosen, Decide, Put, Round, RoundOrder, Skip, Wait, Whom
from bot.model.trail import RoundAnswered
from bot.store.contract import Store
from dosing import Said
from tests.store.contract.rooms import StoreRooms, send_all, settle, take
from tests.store.samples import ADA, BO, CHANNEL, NOON, due, entry, later, message, wrote

EVERYBODY = Round(key="r1", dealer="north", by=None, made_at=NOON)


def everybody(_: Candidate) -> Chosen:
    return Chosen()


def writes(round_key: str = "r1") -> Decide:
    def decide(candidate: Candidate) -> Put:
        return Put(Message(to=candidate.person.key, lane="bulk", text=f"to {candidate.person.name}", round=round_key))

    return decide


async def chosen(store: Store, round_: Round = EVERYBODY, choose=everybody) -> Round:
    await store.put_round(round_)
    while not await store.choose_round(round_.dealer, round_.key, NOON, 1, choose):
        pass
    return round_


async def started(store: Store, round_: Round = EVERYBODY) -> Round:
    await chosen(store, round_)
    assert await store.order_round("north", round_.key, "start", NOON)
    return round_


async def states(store: Store, key: str = "r1") -> dict[str, str]:
    return {row.person: row.state for row in await store.round_rows("north", key)}


class RoundsContract(StoreRooms):
    async def test_owners_are_looked_at_page_by_page_and_once_each(self, store: Store):
        seen = []

        def choose(candidate: Candidate) -> Chosen | None:
            seen.append(candidate.person.key)
            return Chosen() if candidate.person.key != "bo" else None

        await chosen(store, choose=choose)
        assert seen == ["ada", "bo", "flo"]
        assert set(await states(store)) == {"ada", "flo"}
        view = await store.round_view("north", "r1")
        assert view is not None
        assert (view.state, view.total, view.languages) == ("chosen", 2, {"en": 2})
        assert sum(view.places.values()) == 2
        assert [candidate.person.key for candidate in view.examples] == ["ada", "flo"]

    async def test_somebody_with_two_tubs_is_one_of_the_round_once(self, store: Store):
        await store.put("north", [], [], [("ada", "birch")])
        tubs = []

        def choose(candidate: Candidate) -> Chosen:
            tubs.append(candidate.tub.key if candidate.tub else None)
            return Chosen()

        await chosen(store, choose=choose)
        assert tubs == ["birch", "cedar", "birch", None]
        assert [(row.person, row.tub) for row in await store.round_rows("north", "r1")] == [
            ("ada", "birch"),
            ("bo", "birch"),
            ("flo", None),
        ]

    async def test_of_those_who_share_a_tub_one_is_written_to_where_the_round_is_for_tubs(self, store: Store):
        await store.put("north", [], [], [("bo", "cedar")])
        await chosen(store, EVERYBODY.model_copy(update={"per": "tub"}))
        assert [(row.person, row.tub) for row in await store.round_rows("north", "r1")] == [
            ("ada", "cedar"),
            ("bo", "birch"),
            ("flo", None),
        ]

    async def test_a_criterion_sees_the_entries_that_it_is_about_and_their_corrections(self, store: Store):
        facts = [
            entry("f", Filled(), at=later(days=-90)),
            entry("c", CartridgeChanged(), at=later(days=-80)),
            entry("t1", ReadingTaken(values={"ph": Said.value(7.4)}), at=later(days=-9)),
            entry("t2", ReadingTaken(values={"ph": Said.value(7.6)}), at=later(days=-8)),
            entry("s", ReadingTaken(values={"ph": Said.value(8.0)}, source=True), at=later(days=-7)),
            entry("n"),
        ]
        await store.write(facts)
        seen: list[list[str]] = []

        def choose(candidate: Candidate) -> None:
            if candidate.person.key == "ada":
                seen.append([one.key for one in candidate.journal])

        await chosen(store, EVERYBODY.model_copy(update={"whom": Whom(untested=3)}), choose)
        await store.write([entry("x", Corrected(of="t2"), at=later(days=-6))])
        await chosen(store, EVERYBODY.model_copy(update={"key": "r2", "whom": Whom(untested=3)}), choose)
        await chosen(store, EVERYBODY.model_copy(update={"key": "r3", "whom": Whom(cartridge_within=9)}), choose)
        await chosen(store, EVERYBODY.model_copy(update={"key": "r4"}), choose)
        assert seen == [["t2"], ["t1", "t2", "s", "x"], ["f", "c", "x"], []]

    async def test_without_a_fill_the_first_sign_of_water_is_seen(self, store: Store):
        await store.write([entry(f"t{day}", ReadingTaken(values={}), at=later(days=-day)) for day in (9, 5, 2)])
        seen = []

        def choose(candidate: Candidate) -> None:
            if candidate.person.key == "ada":
                seen.extend(one.key for one in candidate.journal)

        await chosen(store, EVERYBODY.model_copy(update={"whom": Whom(refill_within=9)}), choose)
        assert seen == ["t9"]

    async def test_a_round_is_swept_into_the_outbox_once_for_each(self, store: Store):
        await started(store)
        swept = await store.sweep_round("north", "r1", NOON, 2, writes())
        assert (swept.looked, swept.put) == (2, 2)
        await store.sweep_round("north", "r1", NOON, 100, writes())
        assert (await store.sweep_round("north", "r1", NOON, 100, writes())).looked == 0
        assert [parcel.message.text for parcel in await send_all(store)] == ["to Ada", "to Bo"]
        rows = await store.round_rows("north", "r1")
        assert [(row.person, row.state, row.why) for row in rows] == [
            ("ada", "delivered", ""),
            ("bo", "delivered", ""),
            ("flo", "left_out", "no_chat"),
        ]

    async def test_nothing_is_swept_before_a_round_begins_and_beginning_twice_is_beginning_once(self, store: Store):
        await chosen(store)
        assert (await store.sweep_round("north", "r1", NOON, 10, writes())).looked == 0
        assert await store.order_round("north", "r1", "start", NOON)
        assert not await store.order_round("north", "r1", "start", NOON)
        assert (await store.sweep_round("north", "r1", NOON, 10, writes())).put == 2

    async def test_what_is_put_off_comes_at_its_time(self, store: Store):
        await started(store)

        def later_for_ada(candidate: Candidate) -> Put | Wait:
            return Wait(later(hours=2)) if candidate.person.key == "ada" else writes()(candidate)

        await store.sweep_round("north", "r1", NOON, 10, later_for_ada)
        assert await store.next_moment(after=NOON) == later(hours=2)
        assert (await store.sweep_round("north", "r1", later(hours=1), 10, writes())).looked == 0
        assert (await store.sweep_round("north", "r1", later(hours=2), 10, writes())).put == 1

    async def test_who_is_skipped_is_told_why(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, lambda _: Skip("recent"))
        view = await store.round_view("north", "r1")
        assert view is not None
        assert (view.counts, view.reasons) == ({"left_out": 3}, {"recent": 3})

    async def test_what_became_of_each_message_is_kept_in_the_round(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        first, second = await store.next_parcels(CHANNEL, NOON, 2)
        await store.refused(first, Refusal(kind="blocked", why="blocked"), NOON, again_at=None)
        await store.refused(second, Refusal(kind="bad", why="too long"), NOON, again_at=None)
        assert await states(store) == {"ada": "blocked", "bo": "failed", "flo": "left_out"}

    async def test_a_message_that_may_have_arrived_is_unclear_and_one_of_a_closed_chat_blocked(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        await settle(store, "reply", Outcome(messages=(message("hello"),)))
        reply, to_bo = await store.next_parcels(CHANNEL, NOON, 2)
        await store.refused(reply, Refusal(kind="blocked", why="blocked"), NOON, again_at=None)
        await store.refused(to_bo, Refusal(kind="unknown", why="died"), NOON, again_at=None)
        assert await states(store) == {"ada": "blocked", "bo": "unclear", "flo": "left_out"}

    async def test_a_paused_round_takes_back_what_has_not_left_and_goes_on_later(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        (under_way,) = await store.next_parcels(CHANNEL, NOON, 1)
        assert await store.order_round("north", "r1", "pause", NOON)
        assert await store.next_parcels(CHANNEL, NOON, 10) == []
        await store.delivered(under_way, Delivered(), NOON)
        assert await states(store) == {"ada": "delivered", "bo": "waiting", "flo": "left_out"}
        assert (await store.sweep_round("north", "r1", NOON, 10, writes())).looked == 0
        assert await store.order_round("north", "r1", "resume", NOON)
        assert (await store.sweep_round("north", "r1", NOON, 10, writes())).put == 1
        assert [parcel.message.text for parcel in await send_all(store)] == ["to Bo"]

    async def test_a_cancelled_round_sends_nothing_more(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 1, writes())
        assert await store.order_round("north", "r1", "cancel", NOON)
        assert not await store.order_round("north", "r1", "resume", NOON)
        assert await send_all(store) == []
        assert set((await states(store)).values()) == {"cancelled"}

    async def test_a_message_behind_one_that_was_taken_back_may_leave(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        await settle(store, "n", Outcome(messages=(message("test", lane="reminder"),)))
        await store.order_round("north", "r1", "cancel", NOON)
        assert [parcel.message.text for parcel in await send_all(store)] == ["test"]

    @pytest.mark.parametrize(("kind", "sent"), [("reminder", []), ("recall", ["to Ada"])])
    async def test_who_says_stop_gets_nothing_that_waits_but_a_recall(self, store: Store, kind: str, sent: list[str]):
        await started(store, EVERYBODY.model_copy(update={"kind": kind}))
        await store.sweep_round("north", "r1", NOON, 1, writes())
        await settle(store, "stop", Outcome(people=(ADA.model_copy(update={"standing": "stopped"}),)))
        assert [parcel.message.text for parcel in await send_all(store)] == sent
        rows = await store.round_rows("north", "r1")
        assert rows[0].why == ("" if sent else "stopped")

    async def test_a_round_for_others_is_chosen_anew_and_one_that_has_begun_stays_as_it_is(self, store: Store):
        await chosen(store, choose=lambda candidate: Chosen() if candidate.person.key == "ada" else None)
        other = EVERYBODY.model_copy(update={"whom": Whom(tags=("x",)), "texts": {"en": "hi"}})
        await chosen(store, other)
        assert len(await states(store)) == 3
        await store.order_round("north", "r1", "start", NOON)
        await store.put_round(EVERYBODY)
        view = await store.round_view("north", "r1")
        assert view is not None
        assert (view.state, view.round.texts, view.round.started_at) == ("running", {"en": "hi"}, NOON)

    async def test_new_words_change_no_choice(self, store: Store):
        await chosen(store)
        await store.put_round(EVERYBODY.model_copy(update={"texts": {"en": "hi"}}))
        view = await store.round_view("north", "r1")
        assert view is not None
        assert (view.state, view.total) == ("chosen", 3)

    async def test_a_choice_that_was_made_brings_the_waiting_due_row_forward(self, store: Store):
        await settle(store, "wait", Outcome(set_dues=(due("t.wait", later(hours=1)),)))
        await chosen(store, EVERYBODY.model_copy(update={"wakes": "t.wait"}))
        assert await store.ripen(NOON) == 1

    async def test_the_last_bulk_message_is_known_the_moment_it_is_on_its_way(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        await started(store, EVERYBODY.model_copy(update={"key": "r2"}))
        seen = {}

        def look(candidate: Candidate) -> Skip:
            seen[candidate.person.key] = candidate.last_bulk
            return Skip("recent")

        await store.sweep_round("north", "r2", NOON, 10, look)
        assert seen == {"ada": NOON, "bo": NOON, "flo": None}

    async def test_answers_are_counted_and_a_wish_to_be_called_stays(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        await send_all(store)
        for number, (person, answer) in enumerate([("ada", "call"), ("ada", "done"), ("bo", "done")]):
            await store.write([entry(f"a{number}", RoundAnswered(round="r1", answer=answer), person=person)])
        view = await store.round_view("north", "r1")
        assert view is not None
        assert view.answers == {"call": 1, "done": 1}

    async def test_an_owner_is_known_by_the_rounds_that_reached_them_and_the_dealer_by_all(self, store: Store):
        await store.put("north", [BO.model_copy(update={"role": "dealer"})], [], [])
        await started(store)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        await send_all(store)
        await store.receive(wrote("1"))
        _, known = await take(store)
        assert [(asked.round, asked.at) for asked in known.asked] == [("r1", NOON)]
        assert known.rounds == ()
        await store.receive(wrote("2", at="2"))
        _, known = await take(store)
        assert [(view.round.key, view.state) for view in known.rounds] == [("r1", "running")]

    async def test_it_ends_once_and_only_when_nothing_is_left(self, store: Store):
        await started(store)
        report = message("report", to="tom")
        assert not await store.finish_round("north", "r1", [report], NOON)
        await store.sweep_round("north", "r1", NOON, 10, writes())
        assert not await store.finish_round("north", "r1", [report], NOON)
        await send_all(store)
        assert [(one.key, state) for one, state in await store.rounds_at_work()] == [("r1", "running")]
        assert await store.finish_round("north", "r1", [report], NOON)
        assert not await store.finish_round("north", "r1", [report], NOON)
        assert [parcel.message.text for parcel in await send_all(store)] == ["report"]
        assert await store.rounds_at_work() == []

    async def test_the_report_of_a_round_that_has_ended_can_be_asked_for_again(self, store: Store):
        await started(store)
        assert not await store.order_round("north", "r1", "report", NOON)
        await store.sweep_round("north", "r1", NOON, 10, lambda _: Skip("recent"))
        report = message("report", to="tom")
        assert await store.finish_round("north", "r1", [report], NOON)
        assert await store.order_round("north", "r1", "report", NOON)
        assert [(one.key, state) for one, state in await store.rounds_at_work()] == [("r1", "done")]
        assert await store.finish_round("north", "r1", [report], NOON)
        assert not await store.finish_round("north", "r1", [report], NOON)
        assert len(await send_all(store)) == 2

    async def test_a_safety_notice_is_no_reason_to_be_left_out_of_the_next_reminder(self, store: Store):
        await started(store, EVERYBODY.model_copy(update={"kind": "safety"}))
        await store.sweep_round("north", "r1", NOON, 10, writes())
        await started(store, EVERYBODY.model_copy(update={"key": "r2"}))
        seen = []
        await store.sweep_round("north", "r2", NOON, 10, lambda one: seen.append(one.last_bulk) or Skip("recent"))
        assert seen == [None, None, None]

    async def test_a_round_that_nobody_sent_is_forgotten_in_time(self, store: Store):
        await chosen(store)
        await started(store, EVERYBODY.model_copy(update={"key": "r2"}))
        await store.tidy(later(days=1))
        assert await store.round_rows("north", "r1") == []
        assert [view.round.key for view in await store.rounds("north")] == ["r2"]
        assert len(await store.round_rows("north", "r2")) == 3

    async def test_an_outcome_makes_rounds_and_gives_orders(self, store: Store):
        await settle(store, "make", Outcome(rounds=(EVERYBODY,)))
        await chosen(store)
        orders: tuple[tuple[str, RoundOrder], ...] = (("r1", "start"), ("unheard of", "start"))
        await settle(store, "start", Outcome(round_orders=orders))
        assert [(one.key, state) for one, state in await store.rounds_at_work()] == [("r1", "running")]

    async def test_the_due_date_is_kept_with_the_choice(self, store: Store):
        await chosen(store, choose=lambda _: Chosen(due=date(2027, 3, 9)))
        assert {row.due for row in await store.round_rows("north", "r1")} == {date(2027, 3, 9)}

    async def test_who_is_erased_is_no_longer_part_of_a_round_under_way(self, store: Store):
        await started(store)
        await store.sweep_round("north", "r1", NOON, 1, writes())
        await settle(store, "erase", Outcome(erase=("ada",)))
        assert (await states(store))["ada"] == "cancelled"


class LiveMessagesContract(StoreRooms):
    async def show(self, store: Store, text: str) -> None:
        await store.post("north", [message(text).model_copy(update={"live": "round.r1"})], NOON)

    async def test_the_next_message_of_a_name_takes_the_place_of_the_one_before(self, store: Store):
        await self.show(store, "1")
        (parcel,) = await store.next_parcels(CHANNEL, NOON, 1)
        assert parcel.edits is None
        await store.delivered(parcel, Delivered(reference="77"), NOON)
        await self.show(store, "2")
        (parcel,) = await store.next_parcels(CHANNEL, NOON, 1)
        assert (parcel.message.text, parcel.edits) == ("2", "77")

    async def test_of_several_that_wait_only_the_newest_is_sent(self, store: Store):
        for text in "123":
            await self.show(store, text)
        assert [parcel.message.text for parcel in await send_all(store)] == ["3"]

    async def test_one_that_is_on_its_way_is_followed_by_the_next(self, store: Store):
        await self.show(store, "1")
        (parcel,) = await store.next_parcels(CHANNEL, NOON, 1)
        await self.show(store, "2")
        await store.delivered(parcel, Delivered(reference="77"), NOON)
        assert [(parcel.message.text, parcel.edits) for parcel in await send_all(store)] == [("2", "77")]

    async def test_people_who_cannot_be_reached_get_none(self, store: Store):
        await store.post("north", [message("x", to="flo")], NOON)
        assert await send_all(store) == []

import pytest

from bot.model.conversation import Conversation, OpenFlow
from bot.model.event import Blocked
from bot.model.fact import CaseOpened, CaseTaken, Noted
from bot.model.known import Outcome
from bot.model.person import Invite, digest_of
from bot.store.contract import Conflict, Contradiction, Store
from tests.store.contract.rooms import StoreRooms, settle, take, texts
from tests.store.samples import (
    ADA,
    BO,
    CEDAR,
    NOON,
    arrival,
    chat,
    due,
    entry,
    later,
    message,
    wrote,
)

FLOW = OpenFlow(flow="weekly_test", serial=1, began=NOON, person=ADA, tub=CEDAR)
KEY = digest_of("a secret of many bits")


class SettlingContract(StoreRooms):
    async def test_everything_of_an_outcome_is_there_afterwards(self, store: Store):
        eve = ADA.model_copy(update={"key": "eve", "name": "Eve", "address": chat("9")})
        oak = CEDAR.model_copy(update={"key": "oak"})
        outcome = Outcome(
            entries=(entry("1", Noted(text="new filter"), tub="oak", person="eve"),),
            people=(eve,),
            tubs=(oak,),
            links=(("eve", "oak"),),
            conversation=Conversation(flows=(FLOW,), serial=1),
            messages=(message("welcome", to="eve"),),
            set_dues=(due("next", later(days=7), person="eve", tub="oak"),),
        )
        await settle(store, "1", outcome, at="9")
        known = await store.known(wrote("2", at="9"))
        assert (known.person, known.tub, known.household) == (eve, oak, (eve,))
        assert known.journal == outcome.entries
        assert known.dues == outcome.set_dues
        assert known.conversation == Conversation(flows=(FLOW,), serial=1, version=1)
        assert await texts(store) == ["welcome"]
        assert await store.take(NOON) is None

    async def test_of_two_of_the_staff_who_write_to_one_case_the_later_reads_again(self, store: Store):
        await store.write([entry("a", CaseOpened(case="c1", klass="question", reasons=()))])
        await store.receive(wrote("1", at="3"))
        taken = await store.take(NOON)
        assert taken
        known = await store.known(taken.arrival)
        await store.write([entry("first", CaseTaken(case="c1", by="una"))])
        outcome = Outcome(entries=(entry("second", CaseTaken(case="c1", by="tom"), person="tom"),))
        with pytest.raises(Conflict):
            await store.settle(taken, known, outcome, NOON)
        await store.settle(taken, await store.known(taken.arrival), outcome, NOON)

    async def test_an_entry_is_written_once_however_often_it_is_told(self, store: Store):
        await settle(store, "1", Outcome(entries=(entry("e", Noted(text="first")),)))
        await settle(store, "2", Outcome(entries=(entry("e", Noted(text="second")), entry("f"))))
        assert [kept.key for _, kept in await store.journal("north")] == ["e", "f"]
        assert (await store.journal("north"))[0][1].fact == Noted(text="first")

    async def test_a_conversation_that_moved_on_is_a_conflict_that_changes_nothing(self, store: Store):
        await store.receive(wrote("1"))
        taken, old = await take(store)
        await store.give_up(taken, "another goes first", NOON, final=False)
        taken, known = await take(store)
        await store.settle(taken, known, Outcome(conversation=Conversation(serial=1)), NOON)
        await store.receive(wrote("2"))
        taken, _ = await take(store)
        late = Outcome(conversation=Conversation(serial=9), entries=(entry("late"),), messages=(message("late"),))
        with pytest.raises(Conflict):
            await store.settle(taken, old, late, NOON)
        assert (await store.known(taken.arrival)).conversation == Conversation(serial=1, version=1)
        assert await store.journal("north") == []
        assert await texts(store) == []
        await store.settle(taken, await store.known(taken.arrival), late, NOON)
        assert await texts(store) == ["late"]

    async def test_a_journal_that_somebody_of_the_household_wrote_meanwhile_is_a_conflict(self, store: Store):
        await store.put("north", [], [], [("bo", "cedar")])
        await store.receive(wrote("1"))
        taken, known = await take(store)
        await store.write([entry("bo's", person="bo")])
        with pytest.raises(Conflict):
            await store.settle(taken, known, Outcome(), NOON)
        await store.settle(taken, await store.known(taken.arrival), Outcome(), NOON)

    async def test_another_tub_s_journal_is_no_conflict(self, store: Store):
        await store.receive(wrote("1"))
        taken, known = await take(store)
        await store.write([entry("bo's", person="bo", tub="birch")])
        await store.settle(taken, known, Outcome(), NOON)

    async def test_a_person_changed_meanwhile_is_not_overwritten(self, store: Store):
        await store.receive(wrote("1"))
        taken, known = await take(store)
        await store.put("north", [ADA.model_copy(update={"language": "fr"})], [], [])
        with pytest.raises(Conflict):
            await store.settle(taken, known, Outcome(people=(ADA.model_copy(update={"units": "us"}),)), NOON)
        await store.settle(taken, known, Outcome(people=(BO,)), NOON)

    async def test_an_invite_is_used_by_one_person_only(self, store: Store):
        await store.put_invite(Invite(digest=KEY, dealer="north", expires=later(days=30)))
        await settle(store, "1", Outcome(used_invite=(KEY, "ada")))
        await settle(store, "2", Outcome(used_invite=(KEY, "ada")))
        await store.receive(wrote("3", at="2"))
        taken, known = await take(store)
        with pytest.raises(Conflict):
            await store.settle(taken, known, Outcome(used_invite=(KEY, "bo"), entries=(entry("no"),)), NOON)
        assert await store.journal("north") == []

    async def test_what_points_at_nobody_is_refused_whole(self, store: Store):
        await store.receive(wrote("1"))
        taken, known = await take(store)
        for wrong in (
            Outcome(entries=(entry("a"), entry("b", person="nobody"))),
            Outcome(entries=(entry("a"), entry("b", tub="no tub"))),
            Outcome(entries=(entry("a"),), messages=(message("x", to="nobody"),)),
            Outcome(entries=(entry("a"),), set_dues=(due("d", NOON, person="nobody"),)),
            Outcome(entries=(entry("a"),), links=(("ada", "no tub"),)),
            Outcome(entries=(entry("a"),), people=(BO.model_copy(update={"key": "bo2"}),)),  # at Bo's address
            Outcome(entries=(entry("a"),), people=(BO.model_copy(update={"dealer": "south"}),)),
        ):
            with pytest.raises(Contradiction):
                await store.settle(taken, known, wrong, NOON)
        assert await store.journal("north") == []
        await store.settle(taken, known, Outcome(), NOON)

    async def test_messages_go_to_their_person_or_to_the_address_they_name(self, store: Store):
        outcome = Outcome(
            messages=(
                message("to Bo", to="bo"),
                message("to the group", to="tom", address=chat("-100")),
                message("to whoever wrote", to=""),
                message("to Flo, who has no address", to="flo"),
            )
        )
        await settle(store, "1", outcome, at="77")
        sent = await store.next_parcels("telegram", NOON, 10)
        assert [(parcel.address.chat, parcel.message.text) for parcel in sent] == [
            ("2", "to Bo"),
            ("-100", "to the group"),
            ("77", "to whoever wrote"),
        ]

    async def test_a_blocked_person_gets_nothing_until_they_write(self, store: Store):
        await store.put("north", [BO.model_copy(update={"standing": "blocked"})], [], [])
        await settle(store, "1", Outcome(messages=(message("from Ada", to="bo"),)))
        await store.receive(arrival("2", Blocked(), at="2"))
        taken, known = await take(store)
        await store.settle(taken, known, Outcome(messages=(message("gone", to="bo"),)), NOON)
        assert await texts(store) == []
        await settle(store, "3", Outcome(messages=(message("hello again", to="bo"),)), at="2")
        assert await texts(store) == ["hello again"]
        assert await store.person_at("north", chat("2")) == BO

    async def test_what_could_not_be_handled_is_dead_and_its_sender_told_in_one_go(self, store: Store):
        await store.receive(wrote("1"))
        taken, known = await take(store)
        await store.settle(taken, known, Outcome(messages=(message("sorry"),)), NOON, dead="a fault")
        assert await texts(store) == ["sorry"]
        assert await store.take(later(days=1)) is None

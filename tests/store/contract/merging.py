import pytest

from bot.model.conversation import Conversation, OpenFlow
from bot.model.errand import Errand
from bot.model.fact import Noted
from bot.model.known import Outcome
from bot.model.message import Message
from bot.model.person import Invite, Person, digest_of
from bot.model.trail import Acted
from bot.model.tub import Tub
from bot.store.contract import Conflict, Store
from tests.store.contract.rooms import StoreRooms, settle
from tests.store.samples import ADA, CEDAR, NOON, due, entry, later, wrote

EDA = Person(key="eda", dealer="north", name="Eda", phones=("+15125550101",))
OAK = Tub(key="oak", dealer="north", model="Model A5")
BOTH = ADA.model_copy(update={"phones": EDA.phones})
ONE = CEDAR.model_copy(update={"model": "Model A5"})
DONE = entry("m", Acted(what="merged", about=("ada", "eda")), tub=None, person=None)


class MergingContract(StoreRooms):
    async def twice(self, store: Store) -> None:
        """Ada with the cedar tub, and Eda with the oak tub and a share in the cedar one."""
        await store.put("north", [ADA, EDA], [CEDAR, OAK], [("ada", "cedar"), ("eda", "oak"), ("eda", "cedar")])
        await store.write([entry("a"), entry("e", tub="oak", person="eda"), entry("own", tub=None, person="eda")])
        invite = Invite(digest=digest_of("s"), dealer="north", tub="oak", person="eda", expires=later(days=1))
        await store.put_invite(invite)

    async def test_whatever_named_the_one_names_the_other(self, store: Store):
        await self.twice(store)
        await store.merge("north", (ADA, EDA, BOTH), (CEDAR, OAK, ONE), [DONE])
        known = await store.known(wrote("1"))
        assert (known.person, known.tubs, known.household) == (BOTH, (ONE,), (BOTH,))
        assert {one.key for one in known.journal} >= {"a", "e", "own"}
        assert await store.person("north", "eda") is None
        assert {(one.key, one.person) for _, one in await store.journal("north", tub="cedar")} >= {
            ("a", "ada"),
            ("e", "ada"),
        }
        [invite] = await store.open_invites("north")
        assert (invite.person, invite.tub) == ("ada", "cedar")
        assert [one.key for _, one in await store.journal("north")][-1] == "m"

    async def test_the_chat_of_the_one_that_goes_is_the_other_s_and_nothing_is_open_in_it(self, store: Store):
        await store.put("north", [EDA, ADA], [CEDAR, OAK], [("ada", "cedar"), ("eda", "oak")])
        opened = OpenFlow(flow="weekly_test", serial=1, began=NOON, person=ADA, tub=CEDAR)
        out = Outcome(
            conversation=Conversation(flows=(opened,), serial=1),
            set_dues=(due("r.cedar.ada.test", later(days=1)),),
            messages=(Message(to="ada", text="waits"),),
            errands=(Errand(key="e", dealer="north", person="ada", kind="look", what="look.0", args={}),),
        )
        await settle(store, "1", out)
        both = EDA.model_copy(update={"address": ADA.address})
        await store.merge("north", (EDA, ADA, both), None, [DONE])
        known = await store.known(wrote("2"))
        assert (known.person, known.conversation.flows, known.conversation.serial) == (both, (), 1)
        assert {tub.key for tub in known.tubs} == {"cedar", "oak"}
        assert [(one.person, one.what) for one in known.dues] == [("eda", "test")]
        assert [parcel.message.text for parcel in await store.next_parcels("telegram", later(days=1), 9)] == ["waits"]
        assert await store.take_errand(NOON, 60.0) is None
        assert await store.ripen(later(days=2)) == 1

    async def test_what_has_changed_since_it_was_read_is_not_merged(self, store: Store):
        await self.twice(store)
        renamed = EDA.model_copy(update={"name": "Edda"})
        await store.put("north", [renamed], [], [])
        for people, tubs in (((ADA, EDA, BOTH), None), (None, (CEDAR, OAK.model_copy(update={"model": "B"}), ONE))):
            with pytest.raises(Conflict):
                await store.merge("north", people, tubs, [DONE])
        assert await store.person("north", "eda") == renamed
        assert "m" not in {one.key for _, one in await store.journal("north")}

    async def test_the_same_people_of_another_dealer_stay_two(self, store: Store):
        south = [one.model_copy(update={"dealer": "south"}) for one in (ADA, EDA)]
        await store.put("south", south, [], [])
        await store.write([entry("x", Noted(text="x"), tub=None, person="eda").model_copy(update={"dealer": "south"})])
        await self.twice(store)
        await store.merge("north", (ADA, EDA, BOTH), None, [DONE])
        assert await store.person("south", "eda") == south[1]
        assert [one.person for _, one in await store.journal("south")] == ["eda"]
